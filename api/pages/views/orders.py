"""Orders: the list, the making of a draft from chosen trees, and one order with the steps a role may take."""

import uuid
from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from api.pages import order_forms, paging
from api.pages.access import author, may, page, reader, require
from api.pages.order_forms import DraftForm, OrderFilter, WishForm
from assessments.models import Finding
from assessments.works import actions, queries, rules, states
from assessments.works.models import OrderItem, WorkOrder
from inventory import calendar
from inventory.models import Tree
from inventory.people.models import User
from inventory.problems import Invalid, Refusal


def person(request: HttpRequest) -> User:
    """Who is signed in; pages of orders are never public."""
    found = reader(request)
    assert found is not None  # noqa: S101 - @page("orders...") let nobody else through
    return found


@page("orders.view")
def orders(request: HttpRequest) -> HttpResponse:
    """List the orders a person may see, the newest first; running emergencies before all."""
    found = queries.orders_visible_to(person(request))
    running = found.filter(emergency=True).exclude(state__in=["closed", "cancelled"]).order_by("-pk")[:20]
    chosen = OrderFilter(request.GET, with_contractor=may(request, "orders.make"))
    if chosen.is_valid():
        if chosen.cleaned_data["state"]:
            found = found.filter(state=chosen.cleaned_data["state"])
        if chosen.cleaned_data.get("contractor"):
            found = found.filter(contractor=chosen.cleaned_data["contractor"])
    listed = paging.by_key(found, paging.cursor(request), newest_first=True)
    return render(request, "orders.html", {"form": chosen, "page": listed, "running": running})


@require_POST
@page("orders.make")
def new(request: HttpRequest) -> HttpResponseBase:
    """Ask what to do with the chosen trees, and make the draft once that is answered."""
    chosen = _chosen(request.POST.getlist("tree"))
    making = "make" in request.POST
    today = calendar.today()
    if making:
        form, rows = DraftForm(request.POST), _rows(chosen, request.POST)
        made = _make(request, form, rows, today)
        if made is not None:
            messages.success(request, f"Order {made.number} is drafted. It goes out when you issue it.")
            return redirect("order", made.uid)
    else:
        form = DraftForm(initial={"due_on": order_forms.default_due(today)})
        rows = _rows(chosen, None)
    values = {"form": form, "rows": rows}
    return render(request, "order_new.html", values, status=400 if making else 200)


def _chosen(uids: Sequence[str]) -> list[Tree]:
    try:
        wanted = list(dict.fromkeys(uuid.UUID(uid) for uid in uids))
    except ValueError as error:
        raise Invalid.field("#/tree", "is not the key of a tree") from error
    if not wanted:
        raise Invalid.field("#/tree", "choose at least one tree")
    if len(wanted) > rules.MAX_ITEMS:
        raise Invalid.field("#/tree", f"an order holds at most {rules.MAX_ITEMS} items")
    return list(
        Tree.objects.filter(uid__in=wanted).select_related("species", "site", "zone", "priority").order_by("pk")
    )


def _rows(trees: Sequence[Tree], data: Any) -> list[WishForm]:
    """A form for each tree, with the findings that nothing continues, in one query."""
    findings: dict[int, list[Finding]] = defaultdict(list)
    open_ones = Finding.objects.filter(inspection__tree__in=trees, continued_by=None).select_related("inspection")
    for finding in open_ones.order_by("-inspection__inspected_at", "pk"):
        findings[finding.inspection.tree_id].append(finding)
    return [
        WishForm(data, prefix=f"tree{tree.pk}", initial={"tree": tree.uid}, subject=tree, findings=findings[tree.pk])
        for tree in trees
    ]


def _make(request: HttpRequest, form: DraftForm, rows: list[WishForm], today: date) -> WorkOrder | None:
    """Make the draft, or put each refusal at its field and return None."""
    valid = [one.is_valid() for one in (form, *rows)]
    head = form.cleaned_data
    for row in rows:
        if not head.get("action") and not row.cleaned_data.get("action"):
            row.add_error("action", "choose what is to be done, here or above")
            valid.append(False)
    if not all(valid):
        return None
    try:
        return actions.draft(
            author(request),
            [row.wish(head["action"]) for row in rows],
            due_on=head["due_on"],
            today=today,
            contractor=order_forms.contractor(head["contractor"]),
            instructions=head["instructions"],
        )
    except Refusal as refusal:
        _place(refusal, form, rows)
        return None


def _place(refusal: Refusal, form: DraftForm, rows: list[WishForm]) -> None:
    """Pointers below #/items/N belong to the Nth row; the others to the head."""
    for error in refusal.errors:
        parts = error.pointer.removeprefix("#/").split("/")
        in_row = parts[0] == "items" and len(parts) > 1 and parts[1].isdigit()
        target: Form = rows[int(parts[1])] if in_row else form
        name = parts[2] if in_row and len(parts) > 2 else parts[0]
        shown = name in target.fields and not target.fields[name].widget.is_hidden
        target.add_error(name if shown else None, error.detail)
    if not refusal.errors:
        form.add_error(None, refusal.detail)


@page("orders.view")
def order(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Show an order; a POST takes one step with it or with one of its items."""
    found = queries.order(person(request), uid)
    wrong: dict[str, Form] = {}
    if request.method == "POST":
        name = request.POST.get("step", "")
        step = _STEPS.get(name)
        if step is None:
            raise Invalid.field("#/step", f"there is no step {name!r}")
        form = step(request, found)
        if form is None:
            return redirect("order", uid)
        wrong[f"{name} {request.POST.get('item', '')}".strip()] = form
    return render(request, "order.html", _order_values(request, found, wrong), status=400 if wrong else 200)


def _order_values(request: HttpRequest, found: WorkOrder, wrong: dict[str, Form]) -> dict[str, Any]:
    def step(name: str, action: str) -> bool:
        return may(request, action) and not rules.step_problem(found.state, name)

    values: dict[str, Any] = {"order": found, "caution": states.CAUTION, "version": found.version}
    if step("issue", "orders.make"):
        values["issue"] = wrong.get("issue") or order_forms.IssueForm(initial={"contractor": found.contractor_id})
    if step("accept", "orders.accept"):
        values["accept"] = wrong.get("accept") or Form()
    if step("cancel", "orders.make"):
        values["cancel"] = wrong.get("cancel") or order_forms.CancelForm()
    return values | {"rows": [_item_row(request, found, item, wrong) for item in queries.items(found)]}


def _item_row(request: HttpRequest, of: WorkOrder, item: OrderItem, wrong: dict[str, Form]) -> dict[str, Any]:
    row: dict[str, Any] = {"item": item}
    reportable = of.state in ("issued", "accepted") and item.state not in states.SETTLED
    if reportable and may(request, "orders.report"):
        row["report"] = wrong.get(f"report {item.uid}") or order_forms.ReportForm(
            action=item.action, now=timezone.now(), prefix=f"r{item.pk}"
        )
    if item.state in states.TO_VERIFY and may(request, "orders.verify"):
        row["verify"] = wrong.get(f"verify {item.uid}") or order_forms.VerdictForm(
            action=item.action, prefix=f"v{item.pk}"
        )
    return row


def _version(request: HttpRequest) -> int:
    text = request.POST.get("version", "")
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise Invalid.field("#/version", "must be a whole number")
    return int(text)


def _issue(request: HttpRequest, found: WorkOrder) -> Form | None:
    require(request, "orders.make")
    form = order_forms.IssueForm(request.POST)
    if not form.is_valid():
        return form
    to = order_forms.contractor(form.cleaned_data["contractor"])
    actions.issue(author(request), found, version=_version(request), now=timezone.now(), contractor=to)
    messages.success(request, f"Order {found.number} is issued to {to}.")
    return None


def _accept(request: HttpRequest, found: WorkOrder) -> Form | None:
    require(request, "orders.accept")
    actions.accept(author(request), found, version=_version(request), now=timezone.now())
    messages.success(request, f"Order {found.number} is accepted.")
    return None


def _cancel(request: HttpRequest, found: WorkOrder) -> Form | None:
    require(request, "orders.make")
    form = order_forms.CancelForm(request.POST)
    if not form.is_valid():
        return form
    reason = form.cleaned_data["reason"]
    actions.cancel(author(request), found, reason=reason, version=_version(request), now=timezone.now())
    messages.success(request, f"Order {found.number} is cancelled.")
    return None


def _item_uid(request: HttpRequest) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("item", ""))
    except ValueError as error:
        raise Invalid.field("#/item", "is not the key of an item") from error


def _report(request: HttpRequest, found: WorkOrder) -> Form | None:
    require(request, "orders.report")
    item = queries.item_to_report(person(request), _item_uid(request))
    form = order_forms.ReportForm(request.POST, action=item.action, now=timezone.now(), prefix=f"r{item.pk}")
    if not form.is_valid():
        return form
    try:
        actions.report(author(request), item, form.record(), now=timezone.now())
    except Invalid as refusal:
        order_forms.take(form, refusal)
        return form
    messages.success(request, f"The report on {item.tree} is recorded.")
    return None


def _verify(request: HttpRequest, found: WorkOrder) -> Form | None:
    require(request, "orders.verify")
    item = queries.item_to_verify(person(request), _item_uid(request))
    form = order_forms.VerdictForm(request.POST, action=item.action, prefix=f"v{item.pk}")
    if not form.is_valid():
        return form
    try:
        actions.verify(author(request), item, form.record(), now=timezone.now())
    except Invalid as refusal:
        order_forms.take(form, refusal)
        return form
    messages.success(request, f"The verdict on {item.tree} is recorded.")
    return None


_STEPS = {"issue": _issue, "accept": _accept, "cancel": _cancel, "report": _report, "verify": _verify}
