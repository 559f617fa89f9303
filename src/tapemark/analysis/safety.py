"""What around a setup could fall, trip, overload, burn or flash too often?

Gathers the analyses of safety.  They inform and never certify: what is not described is not
seen, and the markings of the gear, local codes and qualified people decide.
"""

from dataclasses import dataclass

from tapemark.analysis.cables import (
    CableCrossing,
    StandInWay,
    cable_crossings,
    stands_in_the_way,
)
from tapemark.analysis.circuits import CircuitLoad, circuit_loads, lights_without_circuit
from tapemark.analysis.flash_rate import FlashRate, flash_rate
from tapemark.analysis.heat import HotLight, hot_lights
from tapemark.analysis.overhead import Overhead, overhead
from tapemark.analysis.photochromic import DarkeningLenses, darkening_lenses
from tapemark.analysis.rigs import rigs
from tapemark.analysis.scene import Scene
from tapemark.analysis.stands import StandBalance, stand_balances


@dataclass(frozen=True, kw_only=True, slots=True)
class Safety:
    """Everything about safety in one setup, for all the people in it.

    Attributes
    ----------
    stands : tuple of StandBalance
        How far from tipping each light on legs is.
    overhead : tuple of Overhead
        What hangs over somebody.
    circuits : tuple of CircuitLoad
        What each mains circuit carries.
    without_circuit : tuple of str
        Lights that are on none of several circuits.
    hot : tuple of HotLight
        Hot lamps close to what burns or melts.
    flashes : FlashRate
        How often it flashes, and how close to whose eyes.
    cables : tuple of CableCrossing
        Cables across ways.
    stands_in_way : tuple of StandInWay
        Stands in walkways.
    darkening : tuple of DarkeningLenses
        Lenses that darken in daylight.
    """

    stands: tuple[StandBalance, ...]
    overhead: tuple[Overhead, ...]
    circuits: tuple[CircuitLoad, ...]
    without_circuit: tuple[str, ...]
    hot: tuple[HotLight, ...]
    flashes: FlashRate
    cables: tuple[CableCrossing, ...]
    stands_in_way: tuple[StandInWay, ...]
    darkening: tuple[DarkeningLenses, ...]


def safety(scene: Scene) -> Safety:
    """Return what around a setup could hurt, once for all the people in it."""
    setup = scene.setup
    placed = rigs(setup)
    return Safety(
        stands=stand_balances(placed),
        overhead=overhead(setup, placed),
        circuits=circuit_loads(setup),
        without_circuit=lights_without_circuit(setup),
        hot=hot_lights(setup, placed),
        flashes=flash_rate(scene),
        cables=cable_crossings(setup, placed),
        stands_in_way=stands_in_the_way(setup, placed),
        darkening=darkening_lenses(scene),
    )
