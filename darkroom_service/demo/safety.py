"""What the school's own data sheets say beyond the table that ships: one substance, with its source."""

from chemistry.commands import substance
from darkroom_service.demo.stage import Stage

METOL = "55-55-0"
SHEET = "safety data sheet of the school's supplier, Fenmoor Chemicals (invented), section 12, revision of 2 March 2026"


def read_sheets(stage: Stage) -> None:
    """Let the instructor write down what the supplier's sheet says of metol in water and the table leaves open."""
    stage.act(
        "instructor", substance.override, METOL, cells={"m_acute": {"value": "1"}}, source=SHEET,
        reason="The table gives no M-factor; the sheet that came with our powder does.",
    )  # fmt: skip
