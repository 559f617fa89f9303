"""Which devices in the network may use the app.

A link carries a token. The first device that opens the link gets a session for it; the token is
then of no use to any other, and after some minutes to nobody. The session is a random number in
a cookie. Only digests are kept here, so that a look into the memory gives nothing away.
"""

import hashlib
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass

TOKEN_LIFE_S = 600.0  # time to walk to the other device
SESSION_LIFE_S = 16 * 3600.0  # a long working day without use
MOST_TOKENS, MOST_SESSIONS = 32, 64
_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"  # can be typed from a screen without a mistake
_TOKEN_LETTERS = 14  # 69 bits: at a thousand guesses a second, none in the ten minutes


@dataclass
class _Invitation:
    until: float
    device: str = ""  # address of the device that used it


class Sessions:
    """Tokens that were given out, and sessions made from them.

    Parameters
    ----------
    clock : callable
        Seconds that only grow.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._invitations: dict[str, _Invitation] = {}
        self._sessions: dict[str, float] = {}

    def invite(self, *, life_s: float = TOKEN_LIFE_S) -> str:
        """Return a new token: it lets one device in, within a time [s]."""
        self._forget()
        token = "".join(secrets.choice(_LETTERS) for _ in range(_TOKEN_LETTERS))
        self._invitations[_digest(token)] = _Invitation(until=self._clock() + life_s)
        while len(self._invitations) > MOST_TOKENS:
            self._invitations.pop(next(iter(self._invitations)))
        return token

    def redeem(self, token: str, *, device: str) -> str | None:
        """Return a new session for a device with a token, or None if it gives none.

        The same device may come again with the same link, as happens when a scanned code opens
        in one browser and is then opened in another.
        """
        self._forget()
        found = self._invitations.get(_digest(token))
        if found is None or (found.device and found.device != device):
            return None
        found.device = device
        session = secrets.token_urlsafe(24)
        self._sessions[_digest(session)] = self._clock() + SESSION_LIFE_S
        while len(self._sessions) > MOST_SESSIONS:
            self._sessions.pop(next(iter(self._sessions)))
        return session

    def holds(self, session: str) -> bool:
        """Whether a session may go on; being used keeps it alive."""
        key = _digest(session)
        until = self._sessions.pop(key, None)
        if until is None or until < self._clock():
            return False
        self._sessions[key] = self._clock() + SESSION_LIFE_S
        return True

    def _forget(self) -> None:
        now = self._clock()
        self._invitations = {k: v for k, v in self._invitations.items() if v.until >= now}
        self._sessions = {k: v for k, v in self._sessions.items() if v >= now}


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
