"""The city's rule on decay growth, from the policy in force: the threshold and the chance that a request leaves out."""

from typing import Any

from assessments.methods.policy import Policy


def with_city_rule(name: str, request: Any, policy: Policy) -> tuple[Any, list[str]]:
    """Fill threshold and chance where a request on `decay-growth` leaves them out; what was filled, in words."""
    if not isinstance(request, dict) or name != "decay-growth":
        return request, []
    rule, filled, said = policy.decay_growth, dict(request), []
    if filled.get("threshold") is None:
        filled["threshold"] = {"t_over_r": rule.least_t_over_r}
        said.append(f"the threshold: t/R {rule.least_t_over_r:g}")
    if filled.get("chance_percent") is None:
        filled["chance_percent"] = rule.chance_percent
        said.append(f"the chance that it may be crossed: {rule.chance_percent:g} %")
    return filled, [f"The city's policy {policy.version} gives {what}." for what in said]
