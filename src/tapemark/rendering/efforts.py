"""How much is spent on a picture."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Effort:
    """How much is spent on a picture.

    Attributes
    ----------
    samples : int
        Paths for each pixel.
    each_pass : int
        Of these, between two looks at whether to go on.
    layer_samples : int
        Paths for each fine pixel of the glasses.
    guide_samples : int
        Rays for each pixel of what guides the denoising.
    fineness : float
        Of the mannequins.
    fine_denoise : bool
        Whether denoising may take its time.
    lens_pixels : int
        Fine pixels across a lens, at least.
    most_samples : int
        Paths for each pixel where the light is noisier than usual; 0 for no more than ever.
    """

    samples: int
    each_pass: int
    layer_samples: int
    guide_samples: int
    fineness: float
    fine_denoise: bool
    lens_pixels: int = 300
    most_samples: int = 0


EFFORTS = {
    "preview": Effort(
        samples=1,
        each_pass=1,
        layer_samples=1,
        guide_samples=1,
        fineness=0.6,
        fine_denoise=False,
        lens_pixels=100,
        most_samples=6,
    ),
    "final": Effort(
        samples=64,
        each_pass=2,
        layer_samples=8,
        guide_samples=8,
        fineness=1.0,
        fine_denoise=True,
    ),
}
