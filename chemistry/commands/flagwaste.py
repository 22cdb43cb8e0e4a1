"""The words of the flags that waste gives a pour or a release: what broke, what to do, and whom to ask."""

TECHNICIAN = "Ask the technician."
STAFF = "Ask the technician or the instructor."

WASTE: dict[str, str] = {
    "container.incompatible": (
        "It must not meet what the container holds or last held. Keep away, air the room, pour nothing more in:"
        f" it is quarantined. {STAFF}"
    ),
    "container.caution": f"It meets what the container holds only with care. Pour nothing more in. {STAFF}",
    "container.acknowledged": f"Somebody spoke for this pour, and the words are kept with it. {TECHNICIAN}",
    "container.collected": f"The container was collected already. Check which one it was. {TECHNICIAN}",
    "drain.no_rule": f"No drain rule allows this. Let nothing more down, and pour into a container. {STAFF}",
    "drain.stream_not_allowed": f"The drain rule does not allow this kind of waste. Use its container. {STAFF}",
    "drain.over_limit": f"After dilution it was above a limit of the drain rule. Let nothing more down. {STAFF}",
    "drain.not_known": f"The drain rule limits something nobody measured here. Measure before the next. {STAFF}",
    "drain.ph_outside": f"Its pH was outside the drain rule. Let nothing more down. {STAFF}",
    "drain.ph_unknown": f"The drain rule limits the pH, and none was measured. Measure before the next. {STAFF}",
    "drain.dilution_short": f"The drain rule asks for more water along with it. {STAFF}",
    "drain.daily_volume": f"This went over what the drain rule allows for a day. Use a container today. {STAFF}",
    "container.wrong_stream": (
        "Spent liquid went into a container for another kind of waste, which is quarantined."
        f" Pour nothing more in, leave its cap loose and the fan on. {STAFF}"
    ),
    "container.quarantined": f"The container was quarantined. Pour nothing more in and keep away from it. {STAFF}",
    "container.closed": f"The container was closed for collection. Pour nothing more in. {TECHNICIAN}",
    "container.unopened": (
        f"The container was not in use yet at that time. Check the time and the container's code. {TECHNICIAN}"
    ),
    "container.overfull": (
        f"The container is above its working fill. Pour nothing more in; wear gloves if it must be moved. {TECHNICIAN}"
    ),
    "container.over_rated": (
        "More went in than the container is made for. Look for a spill with gloves and eye protection on, and read"
        f" its level. {STAFF}"
    ),
}
