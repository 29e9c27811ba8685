"""All tables by name."""

from fleetcool.model.facts import FACTS
from fleetcool.model.happenings import HAPPENINGS
from fleetcool.model.knowledge_tables import KNOWLEDGE
from fleetcool.model.lists import LISTS
from fleetcool.model.tables import by_name

TABLES = by_name(HAPPENINGS, FACTS, LISTS, KNOWLEDGE)
