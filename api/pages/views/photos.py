"""Photos on the page of a tree: added, withdrawn."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from api.pages import words
from api.pages.access import author, page, reader
from api.pages.record_forms import PhotoForm, WithdrawForm
from api.rest import scope
from assessments import queries as assessed
from assessments.works import subjects
from inventory import queries
from inventory.attachments import services
from inventory.attachments.queries import photo as shown_photo
from inventory.models import Tree
from inventory.problems import Invalid


@page("photos.add")
def add(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The form of a photo; a POST adds it to the tree."""
    tree = queries.tree(uid)
    scope.require_full(reader(request), tree)
    choices = _subjects(tree)
    form, status = PhotoForm(subjects=choices, initial={"subject": request.GET.get("of", choices[0][0])}), 200
    if request.method == "POST":
        form = PhotoForm(request.POST, request.FILES, subjects=choices)
        if form.is_valid() and _added(request, tree, form):
            messages.success(request, "The photo was added.")
            return redirect("tree", uid)
        status = 400
    return render(request, "photo_new.html", {"form": form, "tree": tree}, status=status)


def _subjects(tree: Tree) -> list[tuple[str, str]]:
    """What a photo may show: the tree, its last inspection, the findings of that."""
    found = [(f"tree:{tree.uid}", "The tree")]
    newest = assessed.inspections_of(tree).first()
    if newest is None:
        return found + _opened(tree)
    found.append((f"inspection:{newest.uid}", f"The inspection of {newest.inspected_on}"))
    for finding in newest.findings.all():
        kind, part = words.finding_kind(finding.kind), words.part(finding.part).lower()
        found.append((f"finding:{finding.uid}", f"{kind} at the {part}"))
    return found + _opened(tree)


def _opened(tree: Tree) -> list[tuple[str, str]]:
    """The opened stem and its cuts."""
    found = []
    for one in assessed.dissections_of(tree):
        found.append((f"dissection:{one.uid}", f"The stem opened on {one.dissected_on}"))
        found += [(f"dissection:{cut.uid}", f"The cut at {cut.height_m:.2f} m") for cut in one.cuts.all()]
    return found


def _added(request: HttpRequest, tree: Tree, form: PhotoForm) -> bool:
    """Add it; False where it was refused, which the form then says."""
    photo = form.photo()
    try:
        subjects.require_of_tree(photo.about, photo.about_uid or tree.uid, tree)
        services.add(author(request), tree, photo)
    except Invalid as refusal:
        form.add_error("file", refusal.errors[0].detail if refusal.errors else refusal.detail)
        return False
    return True


@require_POST
@page("photos.withdraw")
def withdraw(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """Withdraw a photo, with the reason."""
    tree = shown_photo(uid).tree
    form = WithdrawForm(request.POST)
    if form.is_valid():
        services.withdraw(author(request), uid, form.cleaned_data["why"])
        messages.success(request, "The photo is no longer shown.")
    else:
        messages.error(request, "Say why the photo is withdrawn.")
    return redirect("tree", tree.uid)
