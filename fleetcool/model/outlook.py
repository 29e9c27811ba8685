"""Everything one look ahead has worked out, as reports and commands read it."""

from dataclasses import dataclass, field

from fleetcool.model.computed import Projection, Supply
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.life_frames import Prices
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.trust_frames import LookingBack


@dataclass(frozen=True, slots=True)
class Outlook:
    """One look ahead: what stands, and what follows from it.

    `week` is the ISO week the books are for; `as_of` the day number taken as today.
    """

    as_of: int
    week: str
    settings: Settings
    standing: Standing
    knowledge: Knowledge
    projection: Projection
    plan: Plan
    supply: Supply
    prices: Prices = field(default_factory=Prices)
    back: LookingBack = field(default_factory=LookingBack)
