"""How the plan says two days together, and why a cooling baseline is planned."""

import math
from datetime import date

from fleetcool.model.days import number
from fleetcool.visits.sentences import service_why
from fleetcool.visits.words import span_text


def of(text: str) -> float:
    return float(number(date.fromisoformat(text)))


def test_a_span_says_month_and_year_once_where_both_days_share_them() -> None:
    assert span_text(of("2026-11-05"), of("2026-11-11")) == "between 5 and 11 November 2026"
    assert span_text(of("2026-11-28"), of("2026-12-02")) == (
        "between 28 November and 2 December 2026"
    )
    assert span_text(of("2026-12-23"), of("2027-01-04")) == (
        "between 23 December 2026 and 4 January 2027"
    )
    assert span_text(of("2026-11-05"), of("2026-11-05")) == "on 5 November 2026"
    assert span_text(of("2026-11-05"), math.nan) == "from 5 November 2026 on"


def test_a_baseline_is_never_called_due_because_nothing_was_recorded() -> None:
    days = of("2026-11-08"), of("2026-11-05"), of("2026-11-11")
    said = service_why("cooling baseline", *days, "day")
    assert said == (
        "Cooling baseline between 5 and 11 November 2026: one look at everything sets the clocks "
        "that were never recorded."
    )
    assert service_why("new cap", *days, "months") == (
        "New cap due 8 November 2026, between 5 and 11 November 2026; months govern."
    )
