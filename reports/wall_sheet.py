"""The sheet for the wall: every caution in force once, in large letters, by when it matters."""

from fleetcool.model.knowledge import Knowledge
from reports.job_cautions import FIRST_WORDS
from reports.job_lookups import Caution, read_cautions
from reports.sheets import Line, Pages, Piece

_WHEN = (
    "Before and while coolant is let out",
    "While parts come off and go on",
    "When it is filled, tested and run",
    "Always",
)
_TURN = {"take apart": 0, "": 1, "put back": 2}  # only_when of a step → which of the above


def wall_sheet(knowledge: Knowledge) -> Pages:
    """Return all cautions in force as one page for the wall of the shop."""
    when = _when(knowledge)
    cautions = read_cautions(knowledge)
    lines = [
        Line((Piece("Cautions for work on cooling systems", style="title"),)),
        Line((Piece(FIRST_WORDS, style="wall"),)),
    ]
    for at, heading in enumerate(_WHEN):
        mine = [one for one in cautions if _turn(one, when) == at]
        if mine:
            lines.append(Line((Piece(heading, style="wall section"),), keeps_next=True))
            lines += [Line((Piece(one.words, style="wall"),)) for one in mine]
    if not cautions:
        lines.append(Line((Piece("No caution is in force.", style="wall"),)))
    return Pages("On the wall", tuple(lines), "No caution is in force.")


def _when(knowledge: Knowledge) -> dict[str, int]:
    """Return step → when it is done, the earliest over all layouts."""
    steps = knowledge.steps.assign(only_when=knowledge.steps["only_when"].fillna(""))
    found: dict[str, int] = {}
    for step, only_when in zip(steps["step"], steps["only_when"], strict=True):
        turn = _TURN.get(only_when, 1)
        found[step] = min(found.get(step, turn), turn)
    return found


def _turn(caution: Caution, when: dict[str, int]) -> int:
    """Return when the earliest step of a caution is done; 3 when it names none that is known."""
    return min((when[step] for step in caution.steps if step in when), default=len(_WHEN) - 1)
