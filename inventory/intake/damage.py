"""Names in which something was replaced by mistake: digits where a word should be."""

import re

# A digit alone before a word or at the end of words: "3 confertus", "Southern 7". Names have numbers in cultivars only.
_FIRST = re.compile(r"\s*\d{1,3}\s+(?=[a-z'\"‘(]|x\s|spp?\b)")
_AFTER = re.compile(r"[^\W\d]\s+\d{1,3}\s*$")
_QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"|‘[^’]*’")


def is_damaged(text: str) -> bool:
    """Whether a number stands in a name of a species where a genus or another word should be.

    >>> [is_damaged(t) for t in ("3 confertus :: Brisbane Box", "7 grandiflora :: Southern 7", "Rosa 'Nr. 4'", "238")]
    [True, True, False, False]
    """
    latin, _, everyday = text.partition("::")
    return bool(_FIRST.match(latin)) or any(_AFTER.search(_QUOTED.sub("", part)) for part in (latin, everyday))
