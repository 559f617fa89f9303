"""How does the lamp of a light spread its light, where a photometric file tells it?

The lamp hangs with its axis along the aim and its horizontal angle 0 along the width of the lit
face, towards the right of somebody behind the lamp.
"""

from functools import lru_cache

import numpy as np

from tapemark.photometry import Distribution, beam_light, distribution_from_table, luminous_flux
from tapemark.studio import Head, Luminaire, Modifier


@lru_cache(maxsize=16)
def luminaire_distribution(luminaire: Luminaire) -> Distribution:
    """Return the intensities of a lamp, ready to be asked for any direction."""
    return distribution_from_table(
        luminaire.candela,
        photometry=luminaire.photometry,
        vertical_rad=np.deg2rad(luminaire.vertical_deg),
        horizontal_rad=np.deg2rad(luminaire.horizontal_deg),
    )


def lamp_distribution(head: Head, *, modifier: Modifier) -> Distribution | None:
    """Return how a head spreads its light, if that was measured and still holds.

    Parameters
    ----------
    head : Head
        With the luminaire that its photometric file describes, or none.
    modifier : Modifier
        What is on it.

    Notes
    -----
    A photometric file describes a lamp with its own optics: it holds for a bare head. Any other
    modifier spreads the light anew.
    """
    if head.luminaire is None or modifier.kind != "bare":
        return None
    return luminaire_distribution(head.luminaire)


def light_per_candela(distribution: Distribution | None, *, exponent: float) -> float:
    """Return the light of a beam for each candela on its axis. [lm/cd]

    Parameters
    ----------
    distribution : Distribution or None
        How it spreads, where that was measured.
    exponent : float
        Otherwise intensity falls with the cosine to this power. [-]
    """
    if distribution is None:
        return float(beam_light(1.0, exponent=exponent))
    return luminous_flux(distribution) / distribution.reference_cd
