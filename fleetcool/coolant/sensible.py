"""Which amounts of coolant make sense to ask about; what does not is refused in one sentence."""

import math

from fleetcool.errors import NotUsableError
from fleetcool.knowledge.properties import figure, most_glycol_of_any

GUARD = 1e-9  # keeps a float's last digit from deciding


def check_target(target: float) -> None:
    """Refuse a share [percent] that no recommended mix has.

    Raises:
        NotUsableError: it lies outside 0–100, or the mix would be over-concentrated.
    """
    check_share("--target", target)
    most = most_glycol_of_any()
    if round(target, 1) > most:
        raise NotUsableError(
            "--target",
            f"{target:g} percent, which is over-concentrated and protects less again",
            f"at most {most:g} percent",
            f"take {figure('usual glycol').value:g} percent unless the maker's book says otherwise",
        )


def check_volume(volume: float) -> None:
    """Refuse a system that holds nothing [L].

    Raises:
        NotUsableError: it is not above 0 L.
    """
    if not (math.isfinite(volume) and volume > 0.0):
        raise NotUsableError("--volume", f"{volume:g} L", "more than 0 L", "correct it")


def check_part(what: str, litres: float, volume: float) -> None:
    """Refuse a part [L] of a volume [L] that is nil or more than the whole.

    Raises:
        NotUsableError: it is.
    """
    if not 0.0 < litres <= volume * (1.0 + GUARD):
        raise NotUsableError(
            what,
            f"{litres:g} L",
            f"more than 0 L and at most the {volume:g} L it holds",
            "correct it",
        )


def check_share(what: str, share: float) -> None:
    """Refuse a share [percent] outside 0–100; `what` is its name.

    Raises:
        NotUsableError: it lies outside.
    """
    if not 0.0 <= share <= 100.0:
        raise NotUsableError(what, f"{share:g} percent", "0 to 100 percent", "correct it")


def check_drain_share(share: float) -> None:
    """Refuse a drain that takes out nothing, or more than all [percent].

    Raises:
        NotUsableError: it does.
    """
    if not 0.0 < round(share, 3) <= 100.0:
        raise NotUsableError(
            "--share", f"{share:g} percent", "more than 0 and at most 100 percent", "correct it"
        )
