"""Which settings and shipped tables nobody has changed, in words: what the books rest on then."""

from collections.abc import Mapping

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.knowledge_tables import KNOWLEDGE
from fleetcool.model.settings import Settings
from reports.sheets import Block, Cell, Heading
from reports.words import amount, money

# What people call a setting, its unit, and what it decides; money and texts have no unit.
SETTING_WORDS: Mapping[str, tuple[str, str, str]] = {
    "currency": ("currency", "", "the money in all books"),
    "units": ("units people read", "", "km and litres, or miles and gallons"),
    "paper": ("paper", "", "what the books are laid out for"),
    "home_zone": ("time zone of the office", "", "when the books of a week are made"),
    "as_of": ("day taken as today", "", "from which day everything is worked out"),
    "store": ("where the store lies", "", "which file or database is read"),
    "dates": ("order of days in tables", "", "whether 3/4 is in March or in April"),
    "issue": ("when the books are made", "", "the day and hour of a week's issue"),
    "hour_cost": ("an hour of work", "money", "what a visit costs where a depot says no rate"),
    "outside_hour_cost": ("an hour in another shop", "money", "what outside work costs"),
    "visit_cost": ("bringing a vehicle in", "money", "how much it pays to do work together"),
    "off_road_cost_per_day": ("a day off the road", "money", "which day is best for a visit"),
    "failure_cost_low": ("a failure, at least", "money", "the low end of what waiting costs"),
    "failure_cost_mid": ("a failure, usually", "money", "what waiting costs"),
    "failure_cost_high": ("a failure, at most", "money", "the high end of what waiting costs"),
    "horizon_weeks": ("how far visits are planned", "weeks", "which visits the books show"),
    "frozen_days": ("days that stay as issued", "days", "how soon a visit moves no more"),
    "first_week_share": ("hours of the first week filled", "share", "room left for what comes up"),
    "baseline_months": ("span of cooling baselines", "months", "how soon unknown clocks are set"),
    "baseline_used_days": ("baseline of a used vehicle", "days", "how soon one bought used comes"),
    "whole_change_share": ("share that counts as a whole change", "%", "when its age is nil again"),
    "foreign_share": ("share of another kind", "%", "when the shorter life counts"),
    "passed_test_share": ("most a passed test puts off", "%", "how far a change may be put off"),
    "upload_mb": ("largest file taken in", "MB", "what the inbox refuses"),
    "unpacked_mb": ("largest file unpacked", "MB", "what the inbox refuses"),
    "most_rows": ("most rows of one table", "rows", "what the inbox refuses"),
    "columns": ("your names of columns", "", "how headings of your tables are understood"),
}
_NOT_SET: Mapping[str, str] = {
    "as_of": "the day itself",
    "store": "fleetcool.db",
    "dates": "told from each table",
    "columns": "none",
}


def settings_block(settings: Settings) -> Block:
    """Return the settings that nobody has set, with their value and what they decide."""
    rows: list[tuple[Cell, ...]] = []
    for name in settings.left_at_default():
        words, unit, decides = SETTING_WORDS.get(name, (name.replace("_", " "), "", ""))
        rows.append((words, _value(name, getattr(settings, name), unit, settings), decides))
    return Block(
        "settings_at_default",
        (Heading("setting"), Heading("default in force"), Heading("what it decides")),
        tuple(rows),
        "Every setting has been set.",
        title="Defaults that still stand: settings in fleetcool.toml",
    )


def tables_block(knowledge: Knowledge) -> Block:
    """Return the shipped tables with rows of the fleet's own, and how many stand as shipped."""
    rows: list[tuple[Cell, ...]] = []
    for table in KNOWLEDGE:
        origin = getattr(knowledge, table.name)["origin"].astype(str)
        shipped = int((origin == "shipped").sum())
        if yours := len(origin) - shipped:
            rows.append((table.name.replace("_", " "), float(shipped), float(yours)))
    untouched = len(KNOWLEDGE) - len(rows)
    return Block(
        "tables_as_shipped",
        (
            Heading("table"),
            Heading("rows as shipped", "whole"),
            Heading("rows of your own or changed by you", "whole"),
        ),
        tuple(rows),
        f"All {untouched} shipped tables stand as shipped.",
        title=f"Shipped tables you have changed; {untouched} others stand as shipped",
    )


def _value(name: str, value: object, unit: str, settings: Settings) -> str:
    """Return a setting as people read it, with its unit."""
    if value is None or value == {}:
        return _NOT_SET.get(name, "not set")
    if isinstance(value, dict):
        return "\n".join(f"{size} {_one(each, unit, settings)}" for size, each in value.items())
    return _one(value, unit, settings)


def _one(value: object, unit: str, settings: Settings) -> str:
    if not isinstance(value, int | float):
        return str(value)
    if unit == "money":
        return money(float(value), settings)
    if unit == "share":
        return f"{100 * value:g} %"
    return f"{amount(float(value))} {unit}".strip()
