"""The history as rows: the line of the present revision whole, and what branches off it folded to one row each."""

from collections.abc import Mapping
from dataclasses import dataclass

from workbench.commands.evidence.approval_grounds import fallen_grounds
from workbench.model.arrays import FloatArray
from workbench.model.history import History, Revision
from workbench.window.scene.scene import Scene
from workbench.window.words.wording import clock, plural, tr

DEEPEST = 3  # steps to the right; deeper branches stand no further in


@dataclass(frozen=True, eq=False)
class Entry:
    """One revision as the rail shows it.

    Attributes:
        revision: which.
        head: it is worked on now.
        in_car: the last drive that counts was made with it.
        approved: by whom; empty where by nobody.
        depth: steps to the right; 0 on the line of the head.
        draft: it is no revision yet.
        compared: changes are counted from it.
        undone: redo brings it back.
        root: first revision of the branch it is on; None on the line of the head.
        branch: name of the branch that begins with it; empty where none does.
        since: when it was put into the car, where it is in it now; else empty.
        exported: whether it was handed over as approved; None where it was not handed over at all.
        fallen: whether its approval rested on drives that no longer count as they did.
        moved: by what factor it moved each cell, shape of its table; NaN where a value was set.
    """

    revision: Revision
    moved: FloatArray
    head: bool
    in_car: bool
    approved: str
    depth: int = 0
    draft: bool = False
    compared: bool = False
    undone: bool = False
    root: int | None = None
    exported: bool | None = None
    branch: str = ""
    since: str = ""
    fallen: bool = False

    def marks(self) -> list[str]:
        """Name what is special about it."""
        marks = [tr("draft: Enter applies, Esc drops")] if self.draft else []
        if self.fallen:  # before all else: what stands behind it may be cut off
            words = tr("! approval by {name} fell: it rested on drives that no longer count")
            marks.append(words.format(name=self.approved))
        if self.branch:
            marks.append(tr("branch “{name}”").format(name=self.branch))
        if self.since:
            marks.append(tr("in the car since {time}").format(time=clock(self.since)))
        if self.in_car:
            marks.append(tr("last driven"))
        if self.compared:
            marks.append(tr("compared with"))
        if self.approved and not self.fallen:
            marks.append(tr("approved by {name}").format(name=self.approved))
        if self.exported is not None:
            marks.append(tr("exported") if self.exported else tr("exported as a draft"))
        if self.depth:
            marks.append(tr("undone; Ctrl+Shift+Z restores it") if self.undone else tr("side branch"))
        return marks


@dataclass(frozen=True, eq=False)
class Branch:
    """The row that stands over a branch, or for it.

    Attributes:
        root: its first revision.
        parent: the revision that it leaves the line at.
        size: how many revisions it has.
        folded: whether it stands for them.
        names: of the branches in it.
    """

    root: int
    parent: int
    size: int
    folded: bool
    names: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """What it is, in one line."""
        many = plural(self.size, "1 revision, branch of {parent}", "{n} revisions, branch of {parent}")
        words = many.format(n=self.size, parent=self.parent)
        return f"{', '.join(self.names)}: {words}" if self.names else words


Row = Entry | Branch


def rows_of(scene: Scene, turned: Mapping[int, bool]) -> list[Row]:
    """List the history of the table that is looked at, newest first, a draft above all.

    Args:
        scene: what there is.
        turned: root of a branch -> whether it was folded by hand; else a branch is folded unless redo leads into it,
            or changes are counted from one of its revisions.
    """
    state, head = scene.state, scene.head
    if state is None or head is None:
        return []
    history = state.history
    depths, roots = _places(history, head)
    driven = history.driven(scene.counted[-1], head.table.name) if scene.counted else None
    carried = next(reversed(state.in_car.get(head.table.name, ())), None)
    redo = history.left.get(head.id)
    open_ones = {roots[number] for number in (redo, scene.focus.against) if number in roots}
    sizes = {root: list(roots.values()).count(root) for root in set(roots.values())}
    rows: list[Row] = []
    if scene.draft is not None:
        rows.append(
            Entry(
                scene.draft.revision,
                history.moved(scene.draft.revision),
                head=False,
                in_car=False,
                approved="",
                draft=True,
            )
        )
    begun: set[int] = set()
    exported = {made.revision: made.approved for made in history.exports}
    for revision in reversed(history.revisions):
        if revision.id not in depths:
            continue
        root = roots.get(revision.id)
        folded = root is not None and turned.get(root, root not in open_ones)
        if root is not None and root not in begun:
            begun.add(root)
            names = tuple(name for number, name in sorted(state.branches.items()) if roots.get(number) == root)
            rows.append(Branch(root, history.revision(root).parent or 0, sizes[root], folded, names))
        if not folded:
            rows.append(
                Entry(
                    revision,
                    history.moved(revision),
                    head=revision is head,
                    in_car=revision is driven,
                    approved=_approver(history, revision),
                    fallen=bool(fallen_grounds(state, revision, scene.fitting_evidence)),
                    depth=depths[revision.id],
                    compared=revision.id == scene.focus.against,
                    undone=revision.id == redo,
                    root=root,
                    exported=exported.get(revision.id),
                    branch=state.branches.get(revision.id, ""),
                    since=carried.since if carried is not None and carried.revision == revision.id else "",
                )
            )
    return rows


def _places(history: History, head: Revision) -> tuple[dict[int, int], dict[int, int]]:
    """Return how far in each revision of the table stands, and for those off the line the root of their branch."""
    line = {revision.id for revision in history.line(head.id)}
    depths: dict[int, int] = {}
    roots: dict[int, int] = {}
    children: set[int] = set()
    for revision in history.revisions:
        if revision.table.name != head.table.name:
            continue
        parent = revision.parent
        if revision.id in line:
            depths[revision.id] = 0
        elif parent is None or parent in line:
            depths[revision.id], roots[revision.id] = 1, revision.id
        else:
            further = parent in children  # it goes another way than the first revision after its parent
            depths[revision.id] = min(depths[parent] + further, DEEPEST)
            roots[revision.id] = roots[parent]
            children.add(parent)
    return depths, roots


def _approver(history: History, revision: Revision) -> str:
    """Return who approved a revision; empty where nobody did."""
    approval = history.approvals.get(revision.id)
    return "" if approval is None else approval.by
