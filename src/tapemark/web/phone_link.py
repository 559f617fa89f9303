"""A code that lets one phone in and opens a page of the app there."""

import asyncio
from dataclasses import dataclass

from starlette.requests import Request

from tapemark.services.paper.links import link_picture
from tapemark.web.desk import Desk, desk_of
from tapemark.web.sessions import TOKEN_LIFE_S


@dataclass(frozen=True, kw_only=True, slots=True)
class PhoneLink:
    """What a page says of phones.

    Attributes
    ----------
    lan : bool
        Whether phones can be let in at all.
    link, code : str
        With a token, and the same as a QR code in SVG; empty unless one was asked for.
    minutes : int
        How long it can be used. [min]
    """

    lan: bool
    link: str = ""
    code: str = ""
    minutes: int = round(TOKEN_LIFE_S / 60)


def network_address(desk: Desk, path: str) -> str | None:
    """Return where devices in the network find a page; None where they are not let in."""
    settings = desk.settings
    if not settings.lan or not settings.names:
        return None
    return f"http://{settings.names[0]}:{settings.port}{path}"


async def phone_link(request: Request, path: str, *, asked: bool) -> PhoneLink:
    """Return what a page says of phones, with a fresh code if one was asked for."""
    desk = desk_of(request)
    address = network_address(desk, path)
    if address is None or not asked:
        return PhoneLink(lan=address is not None)
    link = f"{address}?token={desk.sessions.invite()}"
    return PhoneLink(lan=True, link=link, code=await asyncio.to_thread(link_picture, link))
