"""Coolant that went in as concentrate: by its part number, or by its product's name and the word.

Mechanics who raise a weak mix write what stood on the can; that is the product at full strength,
not at the share it is mixed to.
"""

import pandas as pd

from fleetcool.coolant.mixing import CONCENTRATE
from fleetcool.coolant.products import named as named_as_mixed
from fleetcool.model.knowledge import Knowledge

SUFFIX = "concentrate"


def concentrate_words(coolants: pd.DataFrame) -> frozenset[str]:
    """Return every word that says concentrate of a product of the table coolants."""
    return frozenset(_words(coolants))


def named(words: "pd.Series[str]", knowledge: Knowledge) -> pd.DataFrame:
    """Return what `products.named` does, and concentrate as its product at 100 percent."""
    known = {word.casefold(): product for word, product in _words(knowledge.coolants).items()}
    plain = words.astype("str").str.strip().str.casefold()
    product = plain.map(known)
    neat = product.notna()
    meant = named_as_mixed(words.astype("str").where(~neat, product.astype("str")), knowledge)
    return meant.assign(
        glycol_pct=meant["glycol_pct"].where(~neat, CONCENTRATE),
        glycol_said=meant["glycol_said"] | neat,
    )


def poured(words: "pd.Series[str]", mixed: "pd.Series[bool]", knowledge: Knowledge) -> pd.DataFrame:
    """Return what `named` does, but concentrate at its product's usual share where it was mixed.

    Args:
        words: coolant as written.
        mixed: where water went in beside the concentrate, as in a whole change that was not made
            after a flush; index like `words`.
        knowledge: the knowledge in force.
    """
    meant = named(words, knowledge)
    usual = named(meant["coolant"].astype("str"), knowledge)
    swap = mixed & meant["coolant"].notna()
    return meant.assign(
        glycol_pct=meant["glycol_pct"].where(~swap, usual["glycol_pct"]),
        glycol_said=meant["glycol_said"].where(~swap, usual["glycol_said"]),
    )


def _words(coolants: pd.DataFrame) -> dict[str, str]:
    """Return word → product; a part number that two products share says the first by name."""
    rows = coolants.dropna(subset=["coolant"]).sort_values("coolant", ascending=False)
    parts = rows.dropna(subset=["concentrate_part"])
    by_part = dict(zip(parts["concentrate_part"], parts["coolant"], strict=True))
    by_name = {f"{product} {SUFFIX}": product for product in rows["coolant"]}
    return {str(word).strip(): str(product) for word, product in (by_part | by_name).items()}
