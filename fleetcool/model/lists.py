"""The tables that come as whole lists: all open lines as they stand."""

from fleetcool.model.tables import Column, Table

LISTS: tuple[Table, ...] = (
    Table(
        "orders",
        "list",
        ("order", "part"),
        (
            Column("order", "text", required=True),
            Column("part", "part", required=True),
            Column("quantity", "number", required=True),
            Column("depot", "depot"),
            Column("supplier", "supplier"),
            Column("ordered_on", "day"),
            Column("promised_on", "day", note="a day on which it can be used"),
            Column("price", "money"),
        ),
        "All open order lines.",
    ),
    Table(
        "other_stays",
        "list",
        ("unit", "start"),
        (
            Column("unit", "unit", required=True),
            Column("start", "moment", required=True),
            Column("stop", "moment", required=True, note="a day alone means until its end"),
            Column("why", "text"),
            Column("can_share", "flag", note="cooling work may be done in the same stay"),
            Column("free_minutes", "minutes", note="how long the vehicle is free for it"),
        ),
        "Stays in the shop for other work.",
    ),
    Table(
        "away",
        "list",
        ("what", "start"),
        (
            Column("start", "day", required=True),
            Column("stop", "day", required=True, note="the last day away"),
            Column("why", "text", note="of a unit that stands still say: laid up"),
            Column("depot", "depot"),
            Column("bay", "text"),
            Column("unit", "unit"),
            Column("pool", "text"),
            Column("who", "text"),
            Column("hours_left", "number", note="hours still there on each of these days"),
        ),
        "A depot closed, a bay, a vehicle, a pool or a person away.",
    ),
    Table(
        "campaigns",
        "list",
        ("campaign", "unit"),
        (
            Column("campaign", "text", required=True),
            Column("unit", "unit", required=True),
            Column("service", "service", required=True),
            Column("by", "day", note="the last day"),
            Column("where", "choice", choices=("own", "outside")),
            Column("part", "part"),
            Column("paid_by", "choice", choices=("us", "warranty", "recall", "insurance")),
        ),
        "Work that must be done by a day, vehicle by vehicle.",
    ),
)
