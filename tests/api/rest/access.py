"""Who may use which address: the expectation, written by hand beside the role table of the service.

One line an address and method, `METHOD pattern`; a new address without a line here fails test_roles.py.
"""

from typing import Final

FORESTER, INSPECTOR, CONTRACTOR, WORKS, AUDITOR = "forester", "inspector", "contractor", "public_works", "auditor"
ROLES: Final = (FORESTER, INSPECTOR, CONTRACTOR, WORKS, AUDITOR)
PUBLIC: Final = frozenset({None, *ROLES})
SIGNED_IN: Final = frozenset(ROLES)
STAFF: Final = frozenset({FORESTER, INSPECTOR, WORKS, AUDITOR})
EDITORS: Final = frozenset({FORESTER, INSPECTOR})
FORESTERS: Final = frozenset({FORESTER})
ASKING: Final = frozenset({FORESTER, INSPECTOR, WORKS})
CONTRACTORS: Final = frozenset({CONTRACTOR})
OVERSIGHT: Final = frozenset({FORESTER, AUDITOR})
ORDERS: Final = frozenset({FORESTER, INSPECTOR, AUDITOR, CONTRACTOR})

ACCESS: Final[dict[str, frozenset[str | None]]] = {
    # the index and the document
    "GET ": PUBLIC,
    "GET openapi.json": PUBLIC,
    "GET docs": PUBLIC,
    # tokens and oneself
    "GET tokens": SIGNED_IN,
    "POST tokens": PUBLIC,
    "DELETE tokens/<slug:token_id>": SIGNED_IN,
    "GET me": SIGNED_IN,
    "PATCH me": SIGNED_IN,
    # the inventory
    "GET species": PUBLIC,
    "GET species-review": STAFF,
    "GET species-settlements": STAFF,
    "POST species-settlements": EDITORS,
    "GET zones": PUBLIC,
    "POST zones": FORESTERS,
    "GET zones/<int:zone_id>": PUBLIC,
    "PATCH zones/<int:zone_id>": FORESTERS,
    "GET sites": STAFF,
    "GET sites/<uuid:uid>": STAFF,
    "PATCH sites/<uuid:uid>": EDITORS,
    "GET trees": PUBLIC,
    "POST trees": EDITORS,
    "GET trees/<uuid:uid>": PUBLIC,
    "PATCH trees/<uuid:uid>": EDITORS,
    "GET trees/<uuid:uid>/measurements": STAFF,
    "POST trees/<uuid:uid>/measurements": EDITORS,
    "GET trees/<uuid:uid>/supports": STAFF,
    "POST trees/<uuid:uid>/supports": EDITORS,
    "GET trees/<uuid:uid>/photos": STAFF,
    "POST trees/<uuid:uid>/photos": EDITORS,
    "GET photos/<uuid:uid>": SIGNED_IN,
    "GET photos/<uuid:uid>/picture.jpg": SIGNED_IN,
    "POST photos/<uuid:uid>/withdraw": FORESTERS,
    "GET trees/<uuid:uid>/history": frozenset({FORESTER, INSPECTOR, AUDITOR}),
    "GET events": frozenset({FORESTER, AUDITOR}),
    # the intake
    "POST intake/files": FORESTERS,
    "POST intake/surveys": FORESTERS,
    "POST intake/checks": FORESTERS,
    "GET intake/checks": frozenset({FORESTER, AUDITOR}),
    "GET intake/checks/<uuid:uid>": frozenset({FORESTER, AUDITOR}),
    "GET intake/checks/<uuid:uid>/rows": frozenset({FORESTER, AUDITOR}),
    "GET intake/checks/<uuid:uid>/rows.csv": frozenset({FORESTER, AUDITOR}),
    "POST intake/merge-checks": FORESTERS,
    "GET intake/merges": frozenset({FORESTER, AUDITOR}),
    "POST intake/merges": FORESTERS,
    "GET intake/merges/<uuid:uid>": frozenset({FORESTER, AUDITOR}),
    "GET intake/merges/<uuid:uid>/rows": frozenset({FORESTER, AUDITOR}),
    "GET intake/merges/<uuid:uid>/rows.csv": frozenset({FORESTER, AUDITOR}),
    "GET intake/loads": frozenset({FORESTER, AUDITOR}),
    "POST intake/loads": FORESTERS,
    "GET intake/loads/<uuid:uid>": frozenset({FORESTER, AUDITOR}),
    "GET intake/loads/<uuid:uid>/verdicts": frozenset({FORESTER, AUDITOR}),
    "GET intake/loads/<uuid:uid>/verdicts.csv": frozenset({FORESTER, AUDITOR}),
    "POST intake/loads/<uuid:uid>/undo": FORESTERS,
    "GET intake/mappings": OVERSIGHT,
    "POST intake/mappings": FORESTERS,
    "GET intake/mappings/<uuid:uid>": OVERSIGHT,
    "DELETE intake/mappings/<uuid:uid>": FORESTERS,
    # inspections, checks, dates
    "GET finding-kinds": SIGNED_IN,
    "GET trees/<uuid:uid>/inspections": STAFF,
    "POST trees/<uuid:uid>/inspections": EDITORS,
    "POST trees/<uuid:uid>/inspections/preview": EDITORS,
    "GET inspections/<uuid:uid>": STAFF,
    "GET sections/<uuid:uid>/picture.svg": STAFF,
    "GET inspections/<uuid:uid>/stem-load.svg": STAFF,
    "GET decay-growths/<uuid:uid>/picture.svg": STAFF,
    "POST inspections/<uuid:uid>/emergency-actions": EDITORS,
    "GET trees/<uuid:uid>/defects": STAFF,
    "GET trees/<uuid:uid>/checks": STAFF,
    "POST trees/<uuid:uid>/checks": EDITORS,
    "POST checks/<uuid:uid>/withdraw": EDITORS,
    "GET trees/<uuid:uid>/priority": STAFF,
    "GET due": STAFF,
    "GET due/summary": STAFF,
    "GET due/unseen": STAFF,
    "GET policies": STAFF,
    "POST policies": FORESTERS,
    # options, decisions, dissections, calibration
    "GET rate-cards": STAFF,
    "POST rate-cards": FORESTERS,
    "GET option-kinds": SIGNED_IN,
    "GET inspections/<uuid:uid>/options": STAFF,
    "POST inspections/<uuid:uid>/options": EDITORS,
    "POST inspections/<uuid:uid>/options/proposals": EDITORS,
    "GET options/<uuid:uid>": STAFF,
    "PATCH options/<uuid:uid>": EDITORS,
    "GET trees/<uuid:uid>/decisions": STAFF,
    "POST trees/<uuid:uid>/decisions": FORESTERS,
    "GET decisions": STAFF,
    "GET decisions/<uuid:uid>": STAFF,
    "GET trees/<uuid:uid>/dissections": STAFF,
    "POST trees/<uuid:uid>/dissections": EDITORS,
    "GET dissections": STAFF,
    "GET dissections/<uuid:uid>": STAFF,
    "POST dissections/<uuid:uid>/cuts": EDITORS,
    "GET dissection-requests": STAFF,
    # written reports
    "GET trees/<uuid:uid>/reports": STAFF,
    "POST inspections/<uuid:uid>/reports": EDITORS,
    "GET inspections/<uuid:uid>/draft-report.pdf": EDITORS,
    "GET inspections/<uuid:uid>/draft-report.html": EDITORS,
    "GET tree-reports/<uuid:uid>": STAFF,
    "GET tree-reports/<uuid:uid>/report.pdf": STAFF,
    "GET tree-reports/<uuid:uid>/report.html": STAFF,
    # orders
    "GET contractors": FORESTERS,
    "GET orders": ORDERS,
    "POST orders": FORESTERS,
    "GET orders/<uuid:uid>": ORDERS,
    "GET orders/<uuid:uid>/export.csv": ORDERS,
    "GET orders/<uuid:uid>/export.geojson": ORDERS,
    "POST orders/<uuid:uid>/items": FORESTERS,
    "POST orders/<uuid:uid>/issue": FORESTERS,
    "POST orders/<uuid:uid>/accept": CONTRACTORS,
    "POST orders/<uuid:uid>/cancel": FORESTERS,
    "POST order-items/<uuid:uid>/reports": CONTRACTORS,
    "POST order-items/<uuid:uid>/verifications": EDITORS,
    "POST near": ASKING,
    # calculations
    "GET calculations": ASKING,
    "POST calculations/section": ASKING,
    "POST calculations/stem-load": ASKING,
    "POST calculations/log-mass": ASKING,
    "POST calculations/support": ASKING,
    "POST calculations/root-zone": ASKING,
    "POST calculations/decay-growth": ASKING,
    "POST calculations/likelihood": ASKING,
    "POST calculations/risk": ASKING,
    "POST calculations/appraisal": ASKING,
    "POST calculations/present-value": ASKING,
    "POST calculations/growth": ASKING,
    "POST calculations/information-value": ASKING,
    "POST calculations/<slug:name>": ASKING,
    # long work
    "GET jobs": SIGNED_IN,
    "GET jobs/<uuid:uid>": SIGNED_IN,
    "POST jobs/<uuid:uid>/cancel": SIGNED_IN,
    "POST recompute": FORESTERS,
}
"""`METHOD pattern below /api/v1/` -> the roles that may (None: the public, signed in or not)."""
