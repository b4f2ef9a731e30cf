"""The command line. It parses, calls and prints; it decides nothing about engineering."""

from __future__ import annotations

import argparse
import gc
import io
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

from workbook_builder import __version__
from workbook_builder.language.errors import Problem, WorkbookBuilderError, printable

GOOD, DESIGN_FAILS, COMMAND_WRONG, TOOL_WRONG, STOPPED = 0, 1, 2, 3, 130
EPILOG = "Exit status: 0 good; 1 the design fails, or is not settled; 2 the command or its input is wrong; 3 a fault of this tool itself."
LONGEST_FAULT = 300


class _Parser(argparse.ArgumentParser):
    """Says in data what is wrong with a command, where data are asked for."""

    as_data = False

    def error(self, message: str) -> NoReturn:
        if not _Parser.as_data:
            super().error(message)
        raise SystemExit(_report([Problem("command line", message, advice=f"{self.prog} --help says more")], as_data=True))


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="workbook-builder",
        description="Build and check workbooks that judge whether a PV array, a charge controller and a battery fit.",
        epilog=EPILOG,
    )
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    build = commands.add_parser(
        "build", help="write a workbook", epilog=EPILOG, description="Write the workbook of a design; without a design, the example."
    )
    build.add_argument("design", nargs="?", type=Path, metavar="DESIGN.toml", help="design file; omitted: the example")
    build.add_argument("-o", "--output", type=Path, metavar="FILE.xlsx", help="where to write it; omitted: under output/")
    build.add_argument("--blank", action="store_true", help="an empty workbook to hand out")
    build.add_argument("--force", action="store_true", help="replace a workbook that holds other entries, or another file")
    check = commands.add_parser(
        "check",
        help="judge a design without building",
        epilog=EPILOG,
        description="Judge a design file, or what was typed into a workbook.",
    )
    check.add_argument("file", type=Path, metavar="DESIGN.toml|WORKBOOK.xlsx")
    inputs = commands.add_parser(
        "inputs",
        help="list what a design file may hold",
        description="List the inputs: group and key, unit, what is accepted, and what blank means.",
    )
    check.add_argument("--arrangements", action="store_true", help="list other numbers in series and in parallel too")
    check.add_argument("--match", action="store_true", help="exit status by the match of array, controller and battery alone")
    for command in (build, check, inputs):
        command.add_argument("--debug", action="store_true", help="show where a fault of this tool itself lies")
        command.add_argument("--profile", metavar="ID|FOLDER", help="code profile; omitted: the design's, or nec-2023")
        command.add_argument("--json", action="store_true", help="print the answer as data")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    _Parser.as_data = "--json" in given
    options = _parser().parse_args(given)
    try:
        return {"build": _build, "check": _check, "inputs": _inputs}[options.command](options)
    except WorkbookBuilderError as error:
        return _report(error.problems, as_data=options.json)
    except KeyboardInterrupt:
        return STOPPED
    except BrokenPipeError:
        raise
    except Exception as error:
        if options.debug:
            raise
        fault = f"{type(error).__name__}: {error}"
        advice = "this is a fault of the tool, not of your design: send us your command and file, and what --debug shows"
        _report([Problem("workbook-builder", "stopped", fault[:LONGEST_FAULT], advice=advice)], as_data=options.json)
        return TOOL_WRONG


def _report(problems: Sequence[Problem], *, as_data: bool) -> int:
    if as_data:
        print(json.dumps({"problems": [problem.as_data() for problem in problems]}, ensure_ascii=False, indent=1))
    else:
        for problem in problems:
            print(printable(f"problem: {problem}"), file=sys.stderr)
    return COMMAND_WRONG


def _build(options: argparse.Namespace) -> int:
    from workbook_builder.file.building import build  # noqa: PLC0415 - heavy imports where used
    from workbook_builder.file.design import read_design, read_example  # noqa: PLC0415
    from workbook_builder.file.writing import may_replace  # noqa: PLC0415
    from workbook_builder.language.errors import DesignError  # noqa: PLC0415
    from workbook_builder.language.profiles import DEFAULT  # noqa: PLC0415
    from workbook_builder.language.texts import unlike  # noqa: PLC0415

    if options.blank and options.design:
        raise DesignError([Problem("build", "--blank takes no design file", str(options.design), advice="leave one out")])
    example = not options.design and not options.blank
    inputs: dict[str, Any] = {}
    profile, stem = options.profile or DEFAULT, "blank"
    if example:
        (inputs, profile), stem = read_example(options.profile), "example"
    elif options.design:
        (inputs, profile), stem = read_design(options.design, options.profile), options.design.stem
    target = options.output or Path("output") / f"{stem}.xlsx"
    if not options.force:
        may_replace(target, inputs, options.design, profile)
    built = build(inputs, target, profile, example=example)
    cleaned = [Problem(name, "has signs that no cell can hold; it is written without them", repr(text)) for name, text in unlike(inputs)]
    if options.json:
        notes = {"notes": [note.as_data() for note in cleaned]} if cleaned else {}
        print(json.dumps({"path": str(built.path), "verdict": built.verdict} | notes))
    else:
        for note in cleaned:
            print(printable(f"note: {note}"), file=sys.stderr)
        print(printable(f"{built.path}: {built.verdict}"))
    return GOOD if options.blank else _status(built.verdict)


def _check(options: argparse.Namespace) -> int:
    from workbook_builder.evaluation.evaluation import evaluate  # noqa: PLC0415
    from workbook_builder.file.design import read_design  # noqa: PLC0415
    from workbook_builder.file.reading import read_workbook  # noqa: PLC0415
    from workbook_builder.file.report import arrangement_lines, arrangements, table  # noqa: PLC0415
    from workbook_builder.file.returned import as_data, lines_of, worth  # noqa: PLC0415

    returned = None
    if options.file.suffix.lower() == ".toml":
        inputs, profile = read_design(options.file, options.profile)
    else:
        returned = read_workbook(options.file, options.profile)
        inputs, profile = returned.inputs, returned.profile
    decides = "verdict_match" if options.match else "verdict"
    if options.json:
        answer = evaluate(inputs, profile)
        answer |= as_data(returned, worth(returned, answer)) if returned else {}
        answer |= {"arrangements": arrangements(inputs, profile)} if options.arrangements else {}
        print(json.dumps(answer, ensure_ascii=False, indent=1))
        return _status(answer[decides])
    lines, verdicts = table(inputs, profile)
    if returned:
        found = worth(returned, verdicts)
        lines, verdicts = lines + lines_of(returned, found), found.verdicts
    if options.arrangements:
        lines += arrangement_lines(inputs, profile)
    print("\n".join(map(printable, lines)))
    return _status(verdicts[decides])


def _inputs(options: argparse.Namespace) -> int:
    from workbook_builder.evaluation.evaluation import evaluation_for  # noqa: PLC0415
    from workbook_builder.file.report import input_lines, inputs_as_data  # noqa: PLC0415
    from workbook_builder.language.profiles import DEFAULT, load_profile  # noqa: PLC0415

    model = evaluation_for(load_profile(options.profile or DEFAULT)).model
    if options.json:
        print(json.dumps(inputs_as_data(model), ensure_ascii=False, indent=1))
    else:
        print("\n".join(input_lines(model)))
    return GOOD


def _status(verdict: str) -> int:
    return GOOD if verdict.startswith("PASS") else DESIGN_FAILS


def run() -> int:
    """Run the command line for the shell: a reader that stops listening, such as ``head``, is no error."""
    gc.disable()  # a command ends before its garbage matters; looking for it takes a tenth of the time
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal or pipe that does not know a sign stops nothing
    try:
        status = main()
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD
    return status


if __name__ == "__main__":
    sys.exit(run())
