"""What things cost, in the user's own money: `[prices]`, and the short way to say the same under `[soil]`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated

from terrain.errors import InputError
from terrain.limits import MACHINE_TRIPS
from terrain.site.ranges import Checked
from terrain.site.written import (
    NOT_WRITTEN,
    Count,
    Money,
    Price,
    PriceByArea,
    PriceByWeight,
    Share,
    Volume,
    WrittenAs,
)

# The keys of [soil] that say what a key of [prices] says.
SHORT: Mapping[str, str] = {
    "soil": "price",
    "mulch": "mulch_price",
    "bag": "bag_price",
    "delivery": "delivery_price",
    "disposal": "disposal_price",
}


SHARES = ("markup", "tax")


def with_order(table: Mapping[str, object]) -> dict[str, object]:
    """The [prices] table with the order in which it states its shares."""
    stated = tuple(key for key in table if key in SHARES)
    return {**table, "shares": (*stated, *(key for key in SHARES if key not in stated))}


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
    least_load
        Loose m3 that is paid for where a truck brings less; None: what it brings.
    sheet, underlay
        For one m2 of pond sheet, and of the cloth under it.
    labour, machine
        For one hour of a person with a barrow; for one hour of a machine, which takes what more than `machine_above`
        barrows would bring and moves `machine_pace` loose m3 an hour.
    markup, tax
        Shares, each of the sum of all before it, in the order of `shares`: that in which the user states them.
    """

    soil: Price | None = None
    mulch: Price | None = None
    gravel: Price | None = None
    stone: PriceByWeight | None = None
    bag: Money | None = None
    delivery: Money | None = None
    disposal: Price | None = None
    least_load: Annotated[float, WrittenAs("truck")] | None = None
    sheet: PriceByArea | None = None
    underlay: PriceByArea | None = None
    labour: Money | None = None
    machine: Money | None = None
    machine_above: Count = int(MACHINE_TRIPS.value)
    machine_pace: Volume | None = None
    markup: Share = 0.0
    tax: Share = 0.0
    shares: tuple[str, ...] = field(default=SHARES, metadata=NOT_WRITTEN)


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
