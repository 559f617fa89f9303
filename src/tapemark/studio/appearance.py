"""How a person looks in the rendered picture: hair, eyes, clothes; nothing that decides a frame."""

from __future__ import annotations

from typing import Literal

from pydantic import StrictBool

from tapemark.studio.base import Data

__all__ = [
    "Appearance",
    "ClothesColor",
    "EyeColor",
    "FrameColor",
    "HairColor",
    "HairStyle",
]

HairStyle = Literal["short", "swept", "cropped", "bob", "long", "bun", "curly", "bald"]
HairColor = Literal["black", "dark brown", "brown", "fair", "red", "grey", "white"]
EyeColor = Literal["brown", "hazel", "green", "blue", "grey"]
ClothesColor = Literal["white", "stone", "grey", "black", "navy", "teal", "red", "ochre", "plum"]
FrameColor = Literal["black", "brown", "blue", "red", "silver", "gold", "gunmetal"]


class Appearance(Data):
    """How a person looks in the rendered picture; what is left out follows from the name.

    Parameters
    ----------
    hair : str, optional
        How the hair is worn.
    hair_color : str, optional
        Color of the hair; the brows are a little darker.
    eye_color : str, optional
        Color of the iris.
    clothes : str, optional
        Color of the jumper.
    collar : bool, optional
        Whether a white shirt collar shows over the jumper.
    frame_color : str, optional
        Color of the frame of the glasses.
    """

    hair: HairStyle | None = None
    hair_color: HairColor | None = None
    eye_color: EyeColor | None = None
    clothes: ClothesColor | None = None
    collar: StrictBool | None = None
    frame_color: FrameColor | None = None
