"""The addresses of chemistry, all inside a darkroom, one list for each noun."""

from django.urls import include, path

from chemistry.api import (
    balance,
    batch,
    bathtest,
    checkin,
    film,
    formula,
    formulacost,
    hazard,
    level,
    line,
    mixing,
    pack,
    plan,
    promotion,
    replenishment,
    stop,
    tally,
    transfer,
    traysession,
    usage,
    version,
    vessel,
)

ROOM = "darkrooms/<slug:slug>/"

urlpatterns = [
    path(
        ROOM,
        include(
            [
                *formula.urls,
                *formulacost.urls,
                *hazard.urls,
                *film.urls,
                *version.urls,
                *pack.urls,
                *batch.urls,
                *mixing.urls,
                *line.urls,
                *plan.urls,
                *checkin.urls,
                *usage.urls,
                *vessel.urls,
                *transfer.urls,
                *level.urls,
                *stop.urls,
                *bathtest.urls,
                *replenishment.urls,
                *promotion.urls,
                *traysession.urls,
                *tally.urls,
                *balance.urls,
            ]
        ),
    ),
]
