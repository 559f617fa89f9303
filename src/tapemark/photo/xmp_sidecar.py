"""What was read from a photo as an XMP sidecar, beside whatever other programs keep.

Properties are in a namespace of their own; a rating is written only where it was asked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from xml.sax.saxutils import quoteattr

NAMESPACE = "urn:tapemark:reading:1#"
TOOLKIT = "tapemark"
MARK = f'xmlns:tapemark="{NAMESPACE}"'


def xmp_sidecar(
    frame: Mapping[str, str], people: Sequence[Mapping[str, str]], *, rating: int | None = None
) -> str:
    """Return the text of a sidecar for one photo.

    Parameters
    ----------
    frame : mapping of str to str
        Properties of the frame: names within our namespace, such as ``Verdict``.
    people : sequence of mappings
        The same for everybody in it, from camera-left.
    rating : int, optional
        `xmp:Rating`, 1 to 5.
    """
    attributes = {f"tapemark:{key}": value for key, value in frame.items()}
    if rating is not None:
        attributes["xmp:Rating"] = str(rating)
    listed = "\n".join(f"   {key}={_quoted(value)}" for key, value in attributes.items())
    seen = "\n".join(f"     <rdf:li {' '.join(_person(one))}/>" for one in people)
    return f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/" x:xmptk="{TOOLKIT}">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about=""
   xmlns:xmp="http://ns.adobe.com/xap/1.0/"
   {MARK}
{listed}>
   <tapemark:People>
    <rdf:Seq>
{seen}
    </rdf:Seq>
   </tapemark:People>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>
"""


def is_ours(text: str) -> bool:
    """Return whether a sidecar was written here, and holds nothing of another program."""
    return MARK in text and f'x:xmptk="{TOOLKIT}"' in text


def _person(own: Mapping[str, str]) -> list[str]:
    return [f"tapemark:{key}={_quoted(value)}" for key, value in own.items()]


def _quoted(value: str) -> str:
    return quoteattr("".join(one if one.isprintable() else " " for one in value))
