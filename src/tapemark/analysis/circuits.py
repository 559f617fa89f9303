"""How much do the lights draw from each mains circuit, against what its breaker carries?

By what is on the nameplates.  Lamps that burn for hours count by 125 %, so that a circuit with
nothing else on it may carry 80 % of its breaker.
"""

from dataclasses import dataclass

from tapemark.studio import Circuit, Light, Setup

#: What counts for a load that burns 3 hours or longer; [nec-210-20]. [-]
CONTINUOUS_WEIGHT = 1.25
#: Real over apparent power: a plain filament, and everything with electronics (assumption,
#: 0.5 to 1 where it is not corrected). [-]
FILAMENT_POWER_FACTOR, ELECTRONIC_POWER_FACTOR = 1.0, 0.9
#: Circuits taken where none was described, by the units of the setup; common household ones.
ASSUMED_CIRCUITS = {
    "us": Circuit(name="assumed circuit", voltage_v=120.0, breaker_a=15.0),
    "metric": Circuit(name="assumed circuit", voltage_v=230.0, breaker_a=13.0),
}
#: Lighting on one household outlet in New Zealand and Australia; [mediacollege-power]. [W]
HOUSEHOLD_OUTLET_W = 2000.0
#: Voltages of circuits that may be there. [V]
HOUSEHOLD_OUTLET_V = (220.0, 250.0)


@dataclass(frozen=True, kw_only=True, slots=True)
class CircuitLoad:
    """What one circuit carries.

    Attributes
    ----------
    name : str
        Name of the circuit.
    assumed : bool
        Whether no circuit was described.
    voltage_v, breaker_a : float
        As described or assumed. [V], [A]
    lights : tuple of str
        What draws from it, the heaviest first.
    continuous_w, short_w : float
        Power that may be drawn for hours, and for shorter times, by flashes that recycle. [W]
    current_a : float
        All of it together. [A]
    breaker_share : float
        Current over the breaker, with the continuous part by 125 %; more than 1 is too
        much. [-]
    unknown : tuple of str
        Lights whose draw is not known, or only for the modelling lamp.
    """

    name: str
    assumed: bool
    voltage_v: float
    breaker_a: float
    lights: tuple[str, ...]
    continuous_w: float
    short_w: float
    current_a: float
    breaker_share: float
    unknown: tuple[str, ...]

    @property
    def power_w(self) -> float:
        """Everything together. [W]"""
        return self.continuous_w + self.short_w

    @property
    def over(self) -> bool:
        """Whether it is more than the breaker is to carry."""
        return self.breaker_share > 1.0

    @property
    def trips(self) -> bool:
        """Whether the current is more than the breaker is marked with."""
        return self.current_a > self.breaker_a


@dataclass(frozen=True, kw_only=True, slots=True)
class Draw:
    """What one light draws from the mains.

    Attributes
    ----------
    continuous_w, short_w : float
        For hours, and while it recycles. [W]
    power_factor : float
        Real over apparent power. [-]
    known : bool
        Whether the nameplate is known.
    """

    continuous_w: float
    short_w: float
    power_factor: float
    known: bool

    @property
    def power_w(self) -> float:
        """At most, at one time. [W]"""
        return self.continuous_w + self.short_w


def current_a(power_w: float, *, voltage_v: float, power_factor: float = 1.0) -> float:
    """Return the current that a load draws. [A]

    Parameters
    ----------
    power_w : float
        Real power. [W]
    voltage_v : float
        Mains voltage. [V]
    power_factor : float
        Real over apparent power, more than 0 up to 1. [-]

    Examples
    --------
    >>> current_a(1200.0, voltage_v=120.0)
    10.0
    """
    return power_w / (voltage_v * power_factor)


def continuous_limit_w(*, voltage_v: float, breaker_a: float) -> float:
    """Return what a circuit may carry for hours, at a power factor of 1. [W]

    Notes
    -----
    80 % of breaker times voltage: the breaker has to be rated for the load that is not
    continuous and 125 % of the one that is. Assemblies marked for 100 % are exempt.

    References
    ----------
    [nec-210-20]

    Examples
    --------
    >>> continuous_limit_w(voltage_v=120.0, breaker_a=20.0)
    1920.0
    """
    return breaker_a * voltage_v / CONTINUOUS_WEIGHT


def draw_of(light: Light) -> Draw:
    """Return what a light draws from the mains; nothing if it is off or on a battery.

    Notes
    -----
    A continuous head and a modelling lamp may burn for hours, whatever they are turned down
    to now. A flash draws the rest of its nameplate while it recycles.
    """
    head = light.head
    factor = FILAMENT_POWER_FACTOR if head.lamp == "halogen" else ELECTRONIC_POWER_FACTOR
    if not light.on or head.mains_w == 0.0:
        return Draw(continuous_w=0.0, short_w=0.0, power_factor=factor, known=True)
    known = head.mains_w is not None
    nameplate = head.mains_w or 0.0
    if head.kind == "continuous":
        return Draw(continuous_w=nameplate, short_w=0.0, power_factor=factor, known=known)
    lamp = min(head.modelling_lamp_w, nameplate) if known else head.modelling_lamp_w
    return Draw(
        continuous_w=lamp, short_w=max(nameplate - lamp, 0.0), power_factor=factor, known=known
    )


def circuit_loads(setup: Setup) -> tuple[CircuitLoad, ...]:
    """Return what each circuit carries, in the setup's order.

    Notes
    -----
    With no circuit described, all lights are put on one assumed household circuit. With one,
    lights that name none are put on it; with more, such lights are on none of them.
    """
    if not setup.circuits:
        return (_load(ASSUMED_CIRCUITS[setup.units], setup.lights, assumed=True),)
    only = len(setup.circuits) == 1
    return tuple(
        _load(circuit, [light for light in setup.lights if _draws_from(light, circuit, only=only)])
        for circuit in setup.circuits
    )


def lights_without_circuit(setup: Setup) -> tuple[str, ...]:
    """Return lights on the mains that are on none of several circuits."""
    if len(setup.circuits) < 2:
        return ()
    return tuple(
        light.name
        for light in setup.lights
        if light.circuit is None and light.on and light.head.mains_w != 0.0
    )


def circuit_of(light: Light, *, setup: Setup) -> Circuit | None:
    """Return the circuit that a light draws from, where one was described."""
    only = len(setup.circuits) == 1
    return next((one for one in setup.circuits if _draws_from(light, one, only=only)), None)


def _draws_from(light: Light, circuit: Circuit, *, only: bool) -> bool:
    return light.circuit == circuit.name or (only and light.circuit is None)


def _load(
    circuit: Circuit, lights: list[Light] | tuple[Light, ...], *, assumed: bool = False
) -> CircuitLoad:
    draws = [(light.name, draw_of(light)) for light in lights]
    drawing = [(name, one) for name, one in draws if one.power_w > 0.0]
    drawing.sort(key=lambda named: -named[1].power_w)
    volts = circuit.voltage_v
    continuous = current_a(circuit.other_load_w, voltage_v=volts)
    short = 0.0
    for _, one in drawing:
        continuous += current_a(one.continuous_w, voltage_v=volts, power_factor=one.power_factor)
        short += current_a(one.short_w, voltage_v=volts, power_factor=one.power_factor)
    return CircuitLoad(
        name=circuit.name,
        assumed=assumed,
        voltage_v=volts,
        breaker_a=circuit.breaker_a,
        lights=tuple(name for name, _ in drawing),
        continuous_w=circuit.other_load_w + sum(one.continuous_w for _, one in drawing),
        short_w=sum(one.short_w for _, one in drawing),
        current_a=continuous + short,
        breaker_share=(short + CONTINUOUS_WEIGHT * continuous) / circuit.breaker_a,
        unknown=tuple(name for name, one in draws if not one.known),
    )
