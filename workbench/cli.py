"""The command line, made from the declared commands."""

import argparse
import io
import json
import os
import signal
import sys
import threading
from collections.abc import Sequence
from contextlib import redirect_stdout, suppress
from dataclasses import replace
from typing import Any, NoReturn

from workbench import PROGRAM, __version__
from workbench.commands.declaring.arguments import arguments_from, joined, parser_for
from workbench.commands.declaring.registry import COMMANDS, Answer, Command
from workbench.commands.declaring.telling import plain
from workbench.commands.finding import find
from workbench.errors import UsageError, WorkbenchError
from workbench.phrases import harmless
from workbench.session import Session
from workbench.work import Progress, run

DONE, REFUSED, WRONG_USAGE = 0, 1, 2
STOPPED, ENDED = 128 + signal.SIGINT, 128 + signal.SIGTERM


class UnheardError(WorkbenchError):
    """Standard output takes no answer."""


def main(words: Sequence[str]) -> int:
    """Run a command and give the exit code: 0 done, 1 refused, 2 wrong usage."""
    as_json = "--json" in words
    try:
        _hear_signals()
        if sys.stdout is None:
            raise UnheardError(
                "Standard output is closed, so no answer can be given.",
                "Nothing was done. Run the command again with standard output open.",
            )
        return _run([word for word in words if word != "--json"], as_json=as_json)
    except WorkbenchError as refusal:
        return _refuse(refusal, as_json=as_json and not isinstance(refusal, UnheardError))
    except OSError as error:
        return _refuse(WorkbenchError(f"{error.filename or 'A file'}: {error.strerror}."), as_json=as_json)
    except _Ended:
        return ENDED
    except KeyboardInterrupt:
        return STOPPED


class _Ended(KeyboardInterrupt):
    """The system asked the program to end: all that it began is cleared away, as after an interrupt."""


def _hear_signals() -> None:
    """Let what asks the program to end be heard as an exception, so that helpers are ended and folders removed."""

    def end(*_: object) -> NoReturn:
        raise _Ended

    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.default_int_handler)
        signal.signal(signal.SIGTERM, end)


def _run(words: Sequence[str], *, as_json: bool) -> int:
    if not words:
        raise UsageError("No command is given.", f"List all commands with: {PROGRAM} --help")
    if words[0] in ("-h", "--help", "help"):
        from workbench.commands.handbook import overview

        lines = (f"{PROGRAM} [COMMAND] [--help]", "", *overview())
        _print((_json({"help": "\n".join(lines)}),) if as_json else lines)
        return DONE
    if words[0] == "--version":
        _print((_json({"version": __version__}),) if as_json else (__version__,))
        return DONE
    command = _find(words[0])
    parsed = _parsed(command, words[1:], as_json=as_json)
    if parsed is None:
        return DONE
    answer = _answer(command, parsed)
    if as_json:
        wrong = {"error": answer.refusal, "hint": "The list is under the key problems."} if answer.refusal else {}
        _print((_json({**answer.data, **wrong}),))
    else:
        _print(answer.lines)
    return REFUSED if answer.refusal else DONE


def _find(word: str) -> Command:
    if (found := find(word)) is not None:
        return found
    from workbench.commands import handbook  # noqa: F401 - importing it declares all commands

    if word in COMMANDS:
        return COMMANDS[word]
    import difflib

    near = difflib.get_close_matches(word, COMMANDS, n=1, cutoff=0.72)
    meant = f"Did you mean {near[0]!r}? " if near else ""
    raise UsageError(f"There is no command {word!r}.", f"{meant}List all commands with: {PROGRAM} --help")


def _parsed(command: Command, words: Sequence[str], *, as_json: bool) -> argparse.Namespace | None:
    """Parse the words; None when help was asked for, and given."""
    captured = io.StringIO()
    try:
        with redirect_stdout(captured):
            return parser_for(command).parse_args(joined(command, words))
    except SystemExit:
        _print((_json({"help": captured.getvalue()}),) if as_json else captured.getvalue().split("\n")[:-1])
        return None


def _answer(command: Command, parsed: argparse.Namespace) -> Answer[Any]:
    """Run a command and record what it changes."""
    if not command.takes_state:
        return _finished(command.function(**arguments_from(command, parsed, None)))
    with Session.open(parsed.session_file) as session:
        answer = _finished(command.function(session.state, **arguments_from(command, parsed, session.state)))
        if command.preview and parsed.preview:
            return replace(
                answer,
                to_json=lambda: {**answer.to_json(), "preview": True},
                lines=("Preview only; nothing was changed:", *answer.lines),
                change=None,
            )
        if answer.change is not None:
            try:
                session.record(answer.change)
            except WorkbenchError as error:
                return answer.unrecorded(error)
    return answer


def _finished(outcome: Any) -> Answer[Any]:
    result: Answer[Any] = outcome if isinstance(outcome, Answer) else run(outcome, _Meter())
    return result


class _Meter:
    """Tells the progress of a job on standard error: on one line in a terminal, else a line for each new text."""

    def __init__(self) -> None:
        self._last = ""

    def __call__(self, progress: Progress) -> None:
        if sys.stderr is not None and sys.stderr.isatty():
            share = f"{100 * progress.done // max(progress.total, 1):3d} % "
            end = "\n" if progress.done >= progress.total else ""
            _murmur(f"\r\033[K{share}{harmless(progress.text)}{end}")
        elif progress.text != self._last:
            _murmur(f"{harmless(progress.text)}\n")
        self._last = progress.text


def _murmur(text: str) -> None:
    """Say something that may be lost: standard error may be closed or full, and the work goes on."""
    with suppress(OSError, ValueError):
        if sys.stderr is not None:
            print(text, end="", file=sys.stderr, flush=True)


def _json(value: Any) -> str:
    return json.dumps(plain(value), allow_nan=False)


def _print(lines: Sequence[str]) -> None:
    """Print an answer; quietly less of it where the reader has gone, as in `history | head`.

    Raises:
        UnheardError: when it cannot be written.
    """
    try:
        for line in lines:
            print(harmless(line))
        sys.stdout.flush()
    except OSError as error:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # what is left over goes nowhere
        if not isinstance(error, BrokenPipeError):
            raise UnheardError(
                f"The answer cannot be written to standard output: {error.strerror}.",
                "The command was carried out; do not run it again. Check with: history SESSION",
            ) from error


def _refuse(refusal: WorkbenchError, *, as_json: bool) -> int:
    with suppress(OSError, UnheardError):  # nobody listens; the exit code says it
        if as_json:
            _print((_json({"error": refusal.message, "hint": refusal.hint, **refusal.details}),))
        elif sys.stderr is not None:
            text = "\n".join(part for part in (refusal.message, refusal.hint) if part)
            print(harmless(text), file=sys.stderr, flush=True)
    return WRONG_USAGE if isinstance(refusal, UsageError) else REFUSED
