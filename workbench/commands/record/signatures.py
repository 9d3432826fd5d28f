"""Approvals signed: a key of one's own, a signature that others can hold against it, and what is wrong with one."""

import json
from collections.abc import Iterator, Mapping
from pathlib import Path

from workbench.commands.declaring.kinds import FIRST, ExistingFile, NewFile, RevisionId, Signature, TableName
from workbench.commands.declaring.registry import Answer, command
from workbench.commands.declaring.telling import plain
from workbench.errors import InputError, WorkbenchError
from workbench.files.disk import signing
from workbench.files.disk.clock import now
from workbench.files.store.verifying import chain_digests
from workbench.model.history import Json, Signed
from workbench.model.state import ApprovalSigned, State
from workbench.phrases import call, flag, phrase

UNSIGNED = phrase(
    "is not signed: it shows the typed name, not who typed it, and anyone who can write to the file can change it. "
    "Sign it with: {sign_command}",
    sign_command=call("sign", "SESSION", flag("key", "FILE"), flag("by", "NAME")),
)


@command("Make a signing key", menu="Session", icon="keys", button="Make the key")
def make_key(file: NewFile) -> Answer[str]:
    """Make a private key for signing approvals, in a file only you can read.

    Keep the file to yourself; whoever has it can sign as you. Give the public key to everyone who checks your
    signatures.

    Args:
        file: the private key file to make; it must not exist yet.

    Example:
        make-key calibrator.key
    """
    public = signing.make_key(file)
    return Answer(
        public,
        lambda: {"path": str(file), "public_key": public},
        (
            phrase("{file}: your private key; keep it secret.", file=file),
            phrase("Public key, to share: {public}", public=public),
        ),
    )


@command("Sign an approval", menu="History", icon="approve", button="Sign")
def sign(
    state: State, *, key: ExistingFile, by: Signature, revision: RevisionId | None = None, table: TableName = FIRST
) -> Answer[Signed]:
    """Sign an approved revision with your key; several people can sign the same approval.

    A signature covers the revision, its approval and everything recorded before it.

    Args:
        key: your private key file, made by make-key.
        by: your name.
        revision: which revision; the current one if not given.
        table: the table whose current revision is meant; the first one if not given.

    Example:
        sign car.session --key calibrator.key --by "A. Calibrator"
    """
    if not by.strip():
        raise InputError(
            "A signature needs your name.", phrase("Give your name: {by_flag}.", by_flag=flag("by", "NAME"))
        )
    wanted = state.head(table) if revision is None else state.history.revision(revision)
    at = state.history.approved_at.get(wanted.id)
    if at is None:
        raise InputError(
            phrase("Revision {wanted} is not approved.", wanted=wanted.id),
            phrase(
                "Approve it first: {approve_command}",
                approve_command=call("approve", "SESSION", f"{wanted.id}", flag("by", "NAME")),
            ),
        )
    whole = chain_digests(Path(state.path), state.sequence)[at]
    time = now()
    public, signature = signing.sign(key, _message(wanted.id, wanted.digest, whole, by.strip(), time))
    if any(each.key == public for each in state.history.signatures.get(wanted.id, ())):
        raise InputError(
            phrase("This key has already signed the approval of revision {wanted}.", wanted=wanted.id),
            "Use another key.",
        )
    made = Signed(by.strip(), time, at, public, signature)
    data: dict[str, Json] = {"revision": wanted.id, "by": made.by, "key": public, "signature": signature}
    line = phrase(
        "The approval of revision {wanted} was signed by {by} with the key {short}.",
        wanted=wanted.id,
        by=made.by,
        short=_short(public),
    )
    return Answer(made, lambda: data, (line,), ApprovalSigned(wanted.id, made))


def signature_problems(state: State, digests: Mapping[int, str]) -> Iterator[str]:
    """Compare every signature with what it signs; tell each that does not match, as a sentence.

    Args:
        state: of the session.
        digests: of its changes, by sequence number.
    """
    for number, signatures in state.history.signatures.items():
        revision = state.history.revision(number)
        for each in signatures:
            try:
                message = _message(number, revision.digest, digests.get(each.approval, ""), each.by, each.time)
                if signing.is_signed(each.key, each.signature, message):
                    continue
                wrong = "does not match what was approved"
            except WorkbenchError as refusal:
                wrong = phrase("cannot be checked. {message}", message=refusal.message)
            yield phrase(
                "The signature of {by} with the key {short} on revision {number} {wrong}.",
                by=each.by,
                short=_short(each.key),
                number=number,
                wrong=wrong,
            )


def signature_lines(state: State) -> tuple[str, ...]:
    """Tell for each approved revision who signed it, or what it means that nobody did."""
    lines = []
    for number, approval in state.history.approvals.items():
        signed = state.history.signatures.get(number, ())
        names = ", ".join(f"{each.by} (key {_short(each.key)})" for each in signed)
        at = {"number": number, "by": approval.by}
        lines.append(
            phrase("Revision {number}: the approval by {by} is signed by {names}.", names=names, **at)
            if signed
            else phrase("Revision {number}: the approval by {by} {unsigned}.", unsigned=UNSIGNED, **at)
        )
    return tuple(lines)


def signatures_json(state: State, number: int, digests: Mapping[int, str]) -> list[Json]:
    """Return the signatures on a revision with the very texts that they sign, so that anyone can check them."""
    revision = state.history.revision(number)
    found: list[Json] = []
    for each in state.history.signatures.get(number, ()):
        message = _message(number, revision.digest, digests[each.approval], each.by, each.time).decode()
        found.append(
            {"by": each.by, "on": each.time, "key": each.key, "signature": each.signature, "message": plain(message)}
        )
    return found


def _message(revision: int, digest: str, whole: str, by: str, time: str) -> bytes:
    """Return what is signed: a text that means nothing else anywhere."""
    fields = {"by": by, "on": time, "revision": revision, "revision_digest": digest, "session_digest": whole}
    return phrase(
        "approval of a calibration table\n{dumps}", dumps=json.dumps(fields, sort_keys=True, ensure_ascii=True)
    ).encode()


def _short(key: str) -> str:
    return f"{key[:8]}…"
