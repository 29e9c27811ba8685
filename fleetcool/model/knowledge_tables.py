"""The tables that are shipped filled in, and that a user may refine with rows of their own."""

from fleetcool.model.tables import Column, Table

_VALID_FROM = Column("valid_from", "day")
_SOURCE = Column("source", "text", note="where the figure comes from")
_REMOVE = Column("remove", "flag")
_TAIL = (_SOURCE, _VALID_FROM, _REMOVE)
_LAYOUT = Column("layout", "layout", required=True)
_SERVICE = Column("service", "service", required=True)
_SIZES = ("light", "medium", "heavy")

KNOWLEDGE: tuple[Table, ...] = tuple(
    Table(name, "fact", key, (*columns, *_TAIL), about, shipped=True)
    for name, key, columns, about in (
        (
            "services",
            ("service",),
            (
                _SERVICE,
                Column("what", "text"),
                Column(
                    "kind",
                    "choice",
                    choices=("change", "renew", "test", "look", "clean", "dose"),
                ),
                Column("renews", "text", note="places that get a new part, joined by +"),
                Column("restarts", "text", note="other services whose clocks it restarts"),
                Column("wet", "flag", note="opens the coolant side"),
                Column("needs_bay", "flag"),
                Column("takes_off_road", "flag"),
            ),
            "The kinds of work.",
        ),
        (
            "layouts",
            ("layout",),
            (
                Column("layout", "text", required=True),
                Column("like", "layout", note="a known layout; only what differs is filled"),
                Column("what", "text"),
                Column("size", "choice", choices=_SIZES),
                Column("coolant_litres", "litres"),
                Column("drains_radiator_pct", "percent"),
                Column("drains_all_pct", "percent"),
                Column("cap_kpa", "kpa"),
                Column("coolant_kind", "text"),
                Column("hose_material", "text"),
                Column("belt_route", "text"),
            ),
            "Engine and cooling arrangements.",
        ),
        (
            "layout_places",
            ("layout", "place"),
            (
                _LAYOUT,
                Column("place", "place", required=True),
                Column("quantity", "number"),
                Column("driven_by", "choice", choices=("belt", "timing belt", "gear")),
            ),
            "What sits where in a layout.",
        ),
        (
            "layout_services",
            ("layout", "service"),
            (
                _LAYOUT,
                _SERVICE,
                Column("own_minutes", "minutes"),
                Column("drain_share", "percent", note="share of the coolant that comes out"),
                Column("where", "choice", choices=("own", "outside")),
            ),
            "How long each service takes in a layout, without getting in and out.",
        ),
        (
            "layout_parts",
            ("layout", "service", "part", "only_with"),
            (
                _LAYOUT,
                _SERVICE,
                Column("part", "part", required=True),
                Column("quantity", "number"),
                Column("shared", "flag", note="needed once a visit"),
                Column("only_with", "text", note="only with this coolant kind"),
            ),
            "Which parts a service needs in a layout.",
        ),
        (
            "steps",
            ("layout", "step"),
            (
                _LAYOUT,
                Column("step", "text", required=True),
                Column("after", "text", note="steps that come first, joined by +"),
                Column("take_apart_minutes", "minutes"),
                Column("put_back_minutes", "minutes"),
                Column("wait_minutes", "minutes"),
                Column("in_bay", "flag", note="the waiting keeps the bay"),
                Column("people", "whole"),
                Column("only_when", "choice", choices=("take apart", "put back")),
                Column(
                    "back_before",
                    "text",
                    note="step or service that this comes right before on the way back; "
                    "blank is when all is back",
                ),
                Column("text", "text", note="what the mechanic does, one sentence"),
            ),
            "Access steps of a layout.",
        ),
        (
            "service_steps",
            ("layout", "service", "step"),
            (_LAYOUT, _SERVICE, Column("step", "text", required=True)),
            "Which access steps a service needs.",
        ),
        (
            "fasteners",
            ("layout", "step", "service", "what"),
            (
                _LAYOUT,
                Column("step", "text"),
                Column("service", "service"),
                Column("what", "text", required=True),
                Column("count", "whole"),
                Column("thread", "text"),
                Column("head_mm", "mm"),
                Column("torque_low_nm", "nm"),
                Column("torque_high_nm", "nm"),
                Column("guard_nm", "nm", note="never above this in that thread"),
                Column("trap", "text"),
                Column("manual_torque_nm", "nm", note="from the maker's manual"),
            ),
            "Fasteners met on the way.",
        ),
        (
            "limits",
            ("unit", "layout", "size", "coolant_kind", "duty", "service", "first"),
            (
                Column("unit", "unit"),
                Column("layout", "layout"),
                Column("size", "choice", choices=_SIZES),
                Column("coolant_kind", "text"),
                Column("duty", "choice", choices=("normal", "severe")),
                _SERVICE,
                Column("first", "flag", note="holds until the first known work"),
                Column("km", "distance"),
                Column("hours", "hours"),
                Column("months", "number"),
                Column("before", "month_day"),
                Column("km_per_idle_hour", "number"),
                Column("severe_factor", "number"),
                Column("early_share", "percent"),
                Column("late_share", "percent"),
                Column("counts_from", "choice", choices=("done", "due")),
            ),
            "When a service is due.",
        ),
        (
            "coolants",
            ("coolant",),
            (
                Column("coolant", "text", required=True),
                Column("kind", "text"),
                Column("base", "choice", choices=("eg", "pg")),
                Column("specification", "text", note="the standards its label names"),
                Column("concentrate_part", "part"),
                Column("premix_part", "part"),
                Column("premix_pct", "percent"),
                Column("may_top_up", "text", note="kinds it may top up, joined by +"),
            ),
            "Coolant products and their kinds.",
        ),
        (
            "bands",
            ("coolant_kind", "measure"),
            (
                Column(
                    "coolant_kind",
                    "text",
                    required=True,
                    note='a kind, or "any" for those without a row of their own',
                ),
                Column(
                    "measure",
                    "text",
                    required=True,
                    note='a column of coolant_tests, pressure_drop_kpa, or "look" and a word',
                ),
                Column("good_from", "number"),
                Column("good_to", "number"),
                Column("act_below", "number"),
                Column("act_above", "number"),
            ),
            "Which test values are good.",
        ),
        (
            "remedies",
            ("finding",),
            (
                Column("finding", "text", required=True),
                Column("service", "service"),
                Column("within_days", "whole"),
                Column("look_for", "text"),
            ),
            "What to do about a finding, and how soon.",
        ),
        (
            "life_priors",
            ("place", "size"),
            (
                Column("place", "place", required=True),
                Column("size", "choice", choices=_SIZES),
                Column("shape", "number"),
                Column("life_km", "distance"),
                Column("life_months", "number"),
                Column("spread", "number"),
            ),
            "How long a place usually lasts.",
        ),
        (
            "symptoms",
            ("symptom", "place"),
            (Column("symptom", "text", required=True), Column("place", "place", required=True)),
            "Which places a symptom points to.",
        ),
        (
            "cautions",
            ("caution",),
            (
                Column("caution", "text", required=True),
                Column("steps", "text", note="steps that call for it, joined by +"),
                Column("services", "text", note="services that call for it, joined by +"),
                Column("text", "text"),
            ),
            "Cautions where work can hurt.",
        ),
    )
)
