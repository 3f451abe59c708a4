"""What things cost, in the user's own money: `[prices]`, and the short way to say the same under `[soil]`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from terrain.errors import InputError
from terrain.site.ranges import Checked
from terrain.site.written import Money, Price, PriceByWeight, Share

# The keys of [soil] that say what a key of [prices] says.
SHORT: Mapping[str, str] = {
    "soil": "price",
    "mulch": "mulch_price",
    "bag": "bag_price",
    "delivery": "delivery_price",
    "disposal": "disposal_price",
}


@dataclass(frozen=True)
class Prices(Checked):
    """The user's prices, in one money; None where there is none: no price, no line.

    Parameters
    ----------
    soil, mulch, gravel
        For one loose m3 that is bought; gravel also lies under a wall as its bedding.
    stone
        For one kg of the stones of retained edges.
    bag, delivery
        For one bag, for one truck load.
    disposal
        For one loose m3 hauled away.
    markup, tax
        Share added to the sum of all that; then share added to the sum with its markup.
    """

    soil: Price | None = None
    mulch: Price | None = None
    gravel: Price | None = None
    stone: PriceByWeight | None = None
    bag: Money | None = None
    delivery: Money | None = None
    disposal: Price | None = None
    markup: Share = 0.0
    tax: Share = 0.0


def with_short(prices: Prices, soil: object) -> Prices:
    """The prices with those that stand under `[soil]`.

    Raises
    ------
    InputError
        If one price stands in both places.
    """
    said = {key: getattr(soil, short) for key, short in SHORT.items() if getattr(soil, short) is not None}
    for key in said:
        if getattr(prices, key) is not None:
            problem = f"{SHORT[key]} under [soil] says the same."
            raise InputError(f"[prices] {key}", problem, "Accepted: one of the two.")
    return replace(prices, **said)
