"""Another device: a link with a fresh token, and its code to scan."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.services.paper.links import link_picture
from tapemark.web.answering import page, trouble
from tapemark.web.desk import desk_of
from tapemark.web.sessions import TOKEN_LIFE_S


async def invite(request: Request) -> Response:
    """Answer with the page, and after its button with a link."""
    desk = desk_of(request)
    settings = desk.settings
    if not settings.lan or not settings.names:
        return trouble(
            request,
            "tapemark was started for this computer only.",
            what_to_do="End it with Ctrl-C and start it with: tapemark open --lan",
            status=404,
        )
    link = code = ""
    if request.method == "POST":
        token = desk.sessions.invite()
        link = f"http://{settings.names[0]}:{settings.port}/?token={token}"
        code = link_picture(link)
    minutes = round(TOKEN_LIFE_S / 60)
    return page(request, "invite.html", link=link, code=code, minutes=minutes)


ROUTES = [Route("/invite", invite, methods=["GET", "POST"])]
