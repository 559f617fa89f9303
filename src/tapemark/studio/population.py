"""A population: the wearers of glasses who may sit down before a setup, as shares and spreads.

Every value has a default, so that a file needs only what is known to be different. Where a
spread is given, values are normally distributed around the mean unless the field says otherwise.

References
----------
Who wears glasses, by age and sex [allensbach-glasses]; short and long sight by age
[gutenberg-refraction], [uk-biobank-refraction]; coatings [coating-share-2004]; skin
[cooksey-2017]. What is assumed without a source is listed in ``docs/walk-ins.md``.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, TypeAlias

from pydantic import BeforeValidator, Field, ValidationError, model_validator

from tapemark.errors import Problem, SetupError
from tapemark.studio.base import Data, Title, refuse
from tapemark.studio.context import reading_context
from tapemark.studio.explaining import explain
from tapemark.studio.kinds import angle, count, length, share
from tapemark.studio.population_parts import MEN, WOMEN, Build, Fit, Frames, Refraction
from tapemark.studio.reading import mapping_from_toml

__all__ = [
    "LENS_KINDS",
    "PROGRESSIVE_FROM_YEARS",
    "AgeBand",
    "KindShare",
    "LensKindName",
    "Population",
    "PoseSpread",
    "population_from_toml",
]

LensKindName: TypeAlias = Literal[
    "single vision", "progressive", "reading", "no prescription", "sport wrap"
]
LENS_KINDS: tuple[LensKindName, ...] = (
    "single vision",
    "progressive",
    "reading",
    "no prescription",
    "sport wrap",
)
PROGRESSIVE_FROM_YEARS = 45  # ages of `KindShare`: presbyopia by then (common practice)
ROUNDED = 0.011  # shares that should make a whole may miss it by so much
_Share: TypeAlias = Annotated[float, share(0.0, 1.0)]
_Age: TypeAlias = Annotated[int, count(16, 100)]

#: From, to [years]; people, of those with glasses, of those short-sighted, long-sighted [-].
#: The second share is printed; the first (ages of a town's adults) and the split are derived.
_AGES = (
    (18, 29, 0.18, 0.32, 0.80, 0.08),
    (30, 44, 0.25, 0.38, 0.75, 0.15),
    (45, 59, 0.29, 0.73, 0.44, 0.33),
    (60, 85, 0.28, 0.92, 0.29, 0.50),
)
_KINDS: tuple[tuple[LensKindName, float, float], ...] = (
    ("single vision", 0.95, 0.40),
    ("progressive", 0.0, 0.42),
    ("reading", 0.0, 0.15),
    ("no prescription", 0.04, 0.02),
    ("sport wrap", 0.01, 0.01),
)


class AgeBand(Data):
    """One band of ages among the people who come.

    Parameters
    ----------
    from_years, to_years : int
        First and last age. [years]
    people : float
        Share of all people who come, with glasses or without. [-]
    glasses : float
        Share of them who wear glasses. [-]
    short_sighted, long_sighted : float
        Shares of those wearers; the rest need next to nothing for looking far. [-]
    """

    from_years: _Age
    to_years: _Age
    people: _Share
    glasses: _Share
    short_sighted: _Share
    long_sighted: _Share


class KindShare(Data):
    """How many wear one kind of lens.

    Parameters
    ----------
    kind : str
        What the lenses are for; progressives also stand for bifocals.
    under_45, from_45 : float
        Share of the wearers under 45, and of those of 45 and over. [-]
    """

    kind: LensKindName
    under_45: _Share
    from_45: _Share


class PoseSpread(Data):
    """How differently strangers sit when shown the same mark.

    Parameters
    ----------
    turn_deg, chin_deg, tip_deg : float
        Spread of each angle around the pose of the setup. [deg]
    place_m : float
        Spread of where the head is, to either side and forwards or back. [m]
    """

    turn_deg: Annotated[float, angle(0.0, 15.0)] = 3.0
    chin_deg: Annotated[float, angle(0.0, 15.0)] = 3.0
    tip_deg: Annotated[float, angle(0.0, 15.0)] = 2.0
    place_m: Annotated[float, length(0.0, 0.3)] = 0.03


def _usual_ages() -> tuple[AgeBand, ...]:
    names = tuple(AgeBand.model_fields)
    return tuple(AgeBand.model_validate(dict(zip(names, row, strict=True))) for row in _AGES)


def _usual_kinds() -> tuple[KindShare, ...]:
    return tuple(KindShare(kind=kind, under_45=young, from_45=old) for kind, young, old in _KINDS)


def _listed(key: str, usual: Any) -> Any:
    return Field(
        default_factory=usual,
        validation_alias=key,
        serialization_alias=key,
        max_length=20,
    )


def _completed(usual: dict[str, float]) -> BeforeValidator:
    """Return the validator that adds the usual values to a table that states some of them."""

    def complete(value: Any) -> Any:
        if not isinstance(value, dict):
            return value
        return {**Build(**usual).model_dump(mode="json", by_alias=True), **value}

    return BeforeValidator(complete)


class Population(Data):
    """The wearers of glasses who may come.

    Parameters
    ----------
    title : str
        What to call them.
    women : float
        Share of women among the wearers. [-]
    ages : tuple of AgeBand
        Who comes, at what age, and who of them wears glasses.
    kinds : tuple of KindShare
        Which lenses they wear.
    coated : float
        Share of lenses with an anti-reflective coating; ready-made reading glasses, glasses
        without prescription and sport wraps never have one here. [-]
    seat : "as set" or "set for each"
        Whether the stool stays as it is, or brings all eyes to the height in the setup.
    seat_height_m : float, optional
        Height of the stool; if not stated, that of the setup. [m]
    refraction : Refraction
        How strong the lenses are.
    frames : Frames
        Frame sizes, rims and coatings.
    fit : Fit
        How glasses sit.
    poses : PoseSpread
        How differently people sit.
    women_build, men_build : Build
        Body and face measures.
    skin_reflectance, skin_reflectance_spread : float
        Share of light that skin gives back; mean and standard deviation. [-]
    """

    title: Title = "adult wearers of glasses"
    women: _Share = 0.53
    ages: tuple[AgeBand, ...] = _listed("age", _usual_ages)
    kinds: tuple[KindShare, ...] = _listed("kind", _usual_kinds)
    coated: _Share = 0.75
    seat: Literal["as set", "set for each"] = "as set"
    seat_height_m: Annotated[float, length(0.2, 1.0)] | None = None
    refraction: Refraction = Field(default_factory=Refraction)
    frames: Frames = Field(default_factory=Frames)
    fit: Fit = Field(default_factory=Fit)
    poses: PoseSpread = Field(default_factory=PoseSpread)
    women_build: Annotated[Build, _completed(WOMEN)] = Field(default_factory=lambda: Build(**WOMEN))
    men_build: Annotated[Build, _completed(MEN)] = Field(default_factory=lambda: Build(**MEN))
    skin_reflectance: Annotated[float, share(0.05, 0.7)] = 0.359
    skin_reflectance_spread: Annotated[float, share(0.0, 0.2)] = 0.063

    @model_validator(mode="after")
    def _check(self) -> Population:
        problems = [*_age_problems(self.ages), *_sum_problems(self)]
        if problems:
            raise refuse(problems)
        return self

    @property
    def wearing(self) -> float:
        """Share of all people who come that wear glasses. [-]"""
        return sum(band.people * band.glasses for band in self.ages) / sum(
            band.people for band in self.ages
        )


def population_from_toml(text: str, *, name: str = "population") -> Population:
    """Read a population from TOML text.

    Raises
    ------
    SetupError
        With every problem found, each with its key, value, what is allowed and what to do.
    """
    mapping = mapping_from_toml(text, name=name, kind="population file")
    context = reading_context(mapping, system="metric")
    try:
        return Population.model_validate(mapping, by_alias=True, by_name=False, context=context)
    except ValidationError as error:
        raise SetupError(tuple(explain(error, model=Population, data=mapping)), name=name) from None


def _age_problems(ages: tuple[AgeBand, ...]) -> list[Problem]:
    problems = []
    for number, band in enumerate(ages, 1):
        if band.to_years < band.from_years:
            problems.append(
                Problem(
                    key=f"age[{number}] to",
                    given=f"{band.to_years}, with from = {band.from_years}",
                    allowed="an age not below from",
                    advice="swap the two",
                )
            )
        seen = band.short_sighted + band.long_sighted
        if seen > 1.0 + ROUNDED:
            problems.append(
                Problem(
                    key=f"age[{number}] short_sighted and long_sighted",
                    given=f"{band.short_sighted:g} and {band.long_sighted:g}",
                    allowed="together at most 1: shares of the wearers of that age",
                    advice="lower one of them",
                )
            )
    return problems


def _sum_problems(population: Population) -> list[Problem]:
    """Return which lists of shares do not make a whole."""
    kinds, frames = population.kinds, population.frames
    sums = {
        "age people": sum(band.people for band in population.ages),
        "kind under_45": sum(kind.under_45 for kind in kinds),
        "kind from_45": sum(kind.from_45 for kind in kinds),
        "frames.outline share": sum(one.share for one in frames.outlines),
    }
    problems = [
        Problem(
            key=key,
            given=f"{total:g} all together",
            allowed="shares that add up to 1",
            advice="check each share; a list in the file replaces the whole usual list",
        )
        for key, total in sums.items()
        if abs(total - 1.0) > ROUNDED
    ]
    if not any(band.people * band.glasses for band in population.ages):
        problems.append(
            Problem(
                key="age glasses",
                given="0 in every band",
                allowed="somebody who wears glasses",
                advice="state the share of wearers in at least one band",
            )
        )
    return problems
