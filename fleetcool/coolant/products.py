"""What a word for coolant means: which product, kind and base, and how much glycol it brings."""

import numpy as np
import pandas as pd

from fleetcool.model.knowledge import Knowledge

WATER = "water"
UNKNOWN = "unknown"  # somebody said that nobody knows, which a blank does not say
USUAL_PCT = 50.0  # glycol of a mix nobody described; the 50/50 of every label
USUAL_BASE = "eg"


def named(words: "pd.Series[str]", knowledge: Knowledge) -> pd.DataFrame:
    """Return what each word for coolant means, index like `words`.

    A product gives its kind, base and mixed share, a kind itself; water no kind and no glycol; a
    word that is none of these an unknown kind. Capitals and outer blanks do not matter.

    Returns:
        said (bool: a coolant is named), unknown (bool: it is said that nobody knows), kind, coolant
        (the product), base, base_said (bool), water (bool), glycol_pct [percent by volume] and
        glycol_said (bool). Kind and product are missing where unknown; a base or share that is not
        said is eg and 50 percent.
    """
    codes, distinct = pd.factorize(words.astype("str").str.strip().str.casefold())
    meant = _meant(pd.Index(distinct, dtype="str"), knowledge)
    rows = meant.reindex(np.where(codes < 0, len(meant), codes))
    unknown = (rows["word"] == UNKNOWN).to_numpy(dtype=bool)
    unsaid = (codes < 0) | (rows["word"] == "").to_numpy(dtype=bool)
    result = rows.drop(columns="word").set_axis(words.index)
    return result.assign(
        said=~unsaid & ~unknown,
        unknown=unknown,
        base_said=result["base"].notna(),
        glycol_said=result["glycol_pct"].notna(),
        water=result["water"].astype("boolean").fillna(value=False).astype(bool),
        base=result["base"].fillna(USUAL_BASE),
        glycol_pct=result["glycol_pct"].fillna(USUAL_PCT),
    )


def _meant(words: "pd.Index[str]", knowledge: Knowledge) -> pd.DataFrame:
    """Return what each distinct word means, one row a word, 0..n-1."""
    products = knowledge.coolants.sort_values("coolant")
    key = products["coolant"].str.strip().str.casefold()
    by_word = products.assign(word=key).drop_duplicates("word").set_index("word")
    said = sorted({*products["kind"].dropna(), *knowledge.limits["coolant_kind"].dropna()})
    kinds = pd.Series(said, [one.strip().casefold() for one in said], dtype="str")
    kinds = kinds[~kinds.index.duplicated()]
    found = by_word.reindex(words)
    water = np.asarray(words == WATER, dtype=bool)
    kind = found["kind"].to_numpy(dtype=object)
    kind = np.where(found["coolant"].isna(), kinds.reindex(words).to_numpy(dtype=object), kind)
    return pd.DataFrame(
        {
            "word": pd.Series(words, dtype="str"),
            "kind": pd.Series(kind, dtype="str"),
            "coolant": pd.Series(found["coolant"].to_numpy(dtype=object), dtype="str"),
            "base": pd.Series(found["base"].to_numpy(dtype=object), dtype="str"),
            "water": water,
            "glycol_pct": np.where(water, 0.0, found["premix_pct"].astype("float64").to_numpy()),
        }
    )
