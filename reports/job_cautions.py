"""Which three cautions belong to one stay: the burn first where coolant comes out."""

from reports.job_lookups import Caution, JobLookups, Stay
from reports.sheets import Line, Piece
from reports.view import text

FIRST_WORDS = "The maker's manual and local rules come first."
MOST = 3
BURN = "hot cap"  # its name in the table of cautions
# When none in force fits. Common practice, no source.
_ALWAYS = (
    "Never open a hot cooling system: steam and coolant scald. Let it cool until hand-warm.",
    "Keep hands, hair and sleeves away from fan and belts; a fan can start with the engine off.",
    "Coolant is poisonous and tastes sweet to animals: catch it, cover it, hand it in.",
)


def caution_lines(look: JobLookups, stay: Stay) -> list[Line]:
    """Return the cautions of a stay, each in its box, under one heading."""
    heading = f"Cautions. {FIRST_WORDS} The others hang on the wall."
    return [
        Line((Piece(heading, style="section"),), keeps_next=True),
        *(Line((Piece(f"! {words}", style="caution"),)) for words in chosen_cautions(look, stay)),
    ]


def chosen_cautions(look: JobLookups, stay: Stay) -> list[str]:
    """Return at most three cautions that fit a stay, in the order of the table of cautions.

    Where coolant comes out the burn stands first, whether the table still has it or not. For a
    layout nobody knows the steps that half of all layouts call for decide.
    """
    steps = {text(one["step"]) for one in stay.steps}
    if not stay.layout:
        steps = {one for service in stay.services for one in look.usual_steps.get(service, ())}
    fitting = [one for one in look.cautions if _fits(one, stay, steps)]
    if not fitting:
        return list(_ALWAYS)
    words = [one.words for one in fitting]
    if stay.is_wet:
        burn = next((one.words for one in look.cautions if one.name == BURN), _ALWAYS[0])
        words = [burn, *(one for one in words if one != burn)]
    return words[:MOST]


def _fits(caution: Caution, stay: Stay, steps: set[str]) -> bool:
    return bool(caution.steps & steps or caution.services & set(stay.services))
