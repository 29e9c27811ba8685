"""How a row of limits is said to a person: its figures, what it holds for, where it comes from."""

import pandas as pd

from fleetcool.model import days


def limit_words(row: "pd.Series") -> str:
    """Return where a row comes from: `Your limit for unit 104, since 2026-03-01`."""
    whose = "Your limit" if row["origin"] == "yours" else "Shipped limit"
    since = ""
    if row["origin"] == "yours" and pd.notna(row["valid_from"]):
        since = f", since {days.iso(row['valid_from'])}"
    return f"{whose}{_scope_words(row)}: {figures(row)}{since} ({row['source']})"


def displaced_words(row: "pd.Series") -> str:
    """Return the figures of a row that gave way, with its source."""
    return f"{figures(row)} ({row['source']})"


def figures(row: "pd.Series") -> str:
    """Return the figures of a row in km, hours and months: `96,561 km or 60 months`."""
    said = []
    for name, unit in (("km", "km"), ("hours", "h"), ("months", "months")):
        if pd.notna(row[name]):
            said.append(f"{row[name]:,.0f} {unit}")
    if pd.notna(row["before"]):
        said.append(f"each year before {row['before']}")
    return " or ".join(said) if said else "no limit"


def _scope_words(row: "pd.Series") -> str:
    parts = []
    if pd.notna(row["unit"]):
        parts.append(f"unit {row['unit']}")
    if pd.notna(row["layout"]):
        parts.append(f"layout {row['layout']}")
    if pd.notna(row["size"]):
        parts.append(f"{row['size']} vehicles")
    if pd.notna(row["coolant_kind"]):
        parts.append(f"{row['coolant_kind']} coolant")
    if pd.notna(row["duty"]):
        parts.append(f"{row['duty']} duty")
    words = f" for {', '.join(parts)}" if parts else ""
    return words + (", until the first known work" if row["first"] == 1.0 else "")
