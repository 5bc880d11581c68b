"""Limits entered, entered again, released and exported from the command line, as people see it."""

from __future__ import annotations

import contextlib
import csv
import json
import os
import pty
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.api.limit_files.reading import CELLS, HEADER, LINE, NAMES, csv_file, line
from tests.cli.running import Ran, turnrule
from turnrule.cli import main

WITH_ID = f"{HEADER},limits_id,corrects_revision,reason"
REAR = line(axle="rear", brake_option="", nominal="10.0", machining_limit="8.6", discard_limit="8.0")


@dataclass(frozen=True, slots=True)
class Shop:
    """A folder with a store, and the keys of three people."""

    folder: Path
    anna: str
    ben: str
    cleo: str

    def run(self, *args: str, by: str = "", **environment: str) -> Ran:
        """Run a command here, under somebody's key: in this process, since one of its own takes a second to start."""
        clean: dict[str, str | None] = {name: None for name in os.environ if name.startswith("TURNRULE_")}
        keyed = {"TURNRULE_KEY": by} if by else {}
        with contextlib.chdir(self.folder):
            done = CliRunner().invoke(main, args, env=clean | keyed | environment)
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        return Ran(done.exit_code, done.stdout, done.stderr)


def _shop(folder: Path) -> Shop:
    folder.mkdir(exist_ok=True)
    empty = Shop(folder, "", "", "")
    assert empty.run("store", "migrate").code == 0
    made = {}
    for name, scope in (("anna", "limits:write"), ("ben", "limits:verify"), ("cleo", "releases:publish")):
        made[name] = empty.run("keys", "create", name, "--scope", scope).out.strip()
    return Shop(folder, **made)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with an empty store."""
    return _shop(tmp_path / "shop")


def _published(shop: Shop, path: Path) -> dict[str, object]:
    assert shop.run("limits", "import", str(path), by=shop.anna).code == 0
    assert shop.run("limits", "verify", str(path), by=shop.ben).code == 0
    ran = shop.run("release", "publish", "--notes", "From a file.", "--json", by=shop.cleo)
    assert ran.code == 0
    document: dict[str, object] = json.loads(ran.out)
    return document


def test_limits_go_from_a_template_into_a_release_and_by_file_into_another_store(shop: Shop, tmp_path: Path) -> None:
    assert shop.run("limits", "template", "t.csv").code == 0
    template = shop.folder / "t.csv"
    header = next(csv.reader([template.read_text("utf-8-sig").splitlines()[0]]))
    cells = dict(zip(NAMES, CELLS, strict=True))
    with template.open("a", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow([cells.get(name, "") for name in header])
        csv.writer(file).writerow([(cells | {"axle": "rear"}).get(name, "") for name in header])
    dry = shop.run("limits", "import", "t.csv", "--dry-run", by=shop.anna)
    assert (dry.code, dry.out) == (0, "")
    assert "dry run; nothing was entered" in " ".join(dry.err.split())
    first = _published(shop, template)
    assert (first["number"], first["records"]) == (1, 2)
    listed = shop.run("release", "list")
    assert str(first["digest"]) in listed.out.replace("\n", "")
    assert "2 records, by cleo" in listed.out
    for suffix in ("csv", "xlsx", "jsonl"):
        exported = shop.run("limits", "export", f"e.{suffix}", "--json")
        assert json.loads(exported.out) == {
            "file": f"e.{suffix}",
            "release": 1,
            "records": 2,
            "digest": first["digest"],
        }
        other = _published(_shop(tmp_path / suffix), shop.folder / f"e.{suffix}")
        assert other["digest"] == first["digest"]


def test_all_faults_are_told_at_once_with_row_column_value_and_remedy(shop: Shop) -> None:
    path = csv_file(shop.folder, LINE, line(axle="frnt"), line(nominal="2,6".join('""'), edition=""))
    ran = shop.run("limits", "import", str(path), "--faults", "f.csv", by=shop.anna)
    assert (ran.code, ran.out) == (3, "")
    assert "row 3, axle: frnt\n  'frnt' is none of front" in ran.err
    assert "row 4, nominal: 2,6\n  write a decimal point and not a comma: 2.6 [invalid_number]" in ran.err
    assert "3 faults in 3 rows; nothing was entered" in " ".join(ran.err.split())
    with (shop.folder / "f.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["row"], row["column"], row["code"], row["level"]) for row in rows] == [
        ("3", "axle", "invalid_choice", "refused"),
        ("4", "nominal", "invalid_number", "refused"),
        ("4", "edition", "missing", "refused"),
    ]
    assert rows[0]["value"] == "frnt"
    assert json.loads(shop.run("keys", "list", "--json").out)
    mended = shop.run("limits", "import", str(path), "--rows", "2", "--faults", "f.csv", by=shop.anna)
    assert mended.code == 0
    assert len((shop.folder / "f.csv").read_text("utf-8-sig").splitlines()) == 1


def test_a_cell_cannot_give_orders_to_the_terminal(shop: Shop) -> None:
    path = csv_file(shop.folder, line(make="a\x1b[2J\u202eb", axle="\x1b]0;x\x07"))
    ran = shop.run("limits", "import", path.name, by=shop.anna)
    assert ran.code == 3
    assert "row 2, make: a\\x1b[2J\\u202eb" in ran.err
    assert not {"\x1b", "\x07", "\u202e"} & set(ran.err)


@pytest.mark.parametrize("columns", ["40", "60", "200"])
def test_what_is_told_keeps_to_the_width_of_the_terminal(shop: Shop, columns: str) -> None:
    path = csv_file(shop.folder, line(axle="frnt", section="n/a"), line(make="x" * 70, machining_limit="23"))
    ran = shop.run("limits", "import", path.name, by=shop.anna, COLUMNS=columns)
    assert ran.code == 3
    most = max(len(text) for text in ran.err.splitlines() if "xxx" not in text)
    assert most <= min(int(columns), 100)


def test_no_more_than_two_hundred_faults_are_shown_and_all_are_counted(shop: Shop) -> None:
    path = csv_file(shop.folder, *[line(axle="frnt")] * 321)
    ran = shop.run("limits", "import", path.name, "--json", "--faults", "f.csv", by=shop.anna)
    document = json.loads(ran.out)
    assert (document["rows"], document["faults"], len(document["shown"])) == (321, 321, 200)
    assert document["drafts"] == 0
    assert document["shown"][0] == {
        "row": 2,
        "column": "axle",
        "value": "frnt",
        "code": "invalid_choice",
        "remedy": "'frnt' is none of front, rear, second, third, fourth, fifth; did you mean 'front'?",
        "level": "refused",
        "file": "",
    }
    assert "and 121 more: --faults FILE.csv writes all of them" in ran.err
    assert len((shop.folder / "f.csv").read_text("utf-8-sig").splitlines()) == 322


def test_the_report_of_the_faults_never_takes_the_place_of_another_file(shop: Shop) -> None:
    path = csv_file(shop.folder, line(axle="frnt"))
    before = path.read_bytes()
    (shop.folder / "plan.xlsx").write_bytes(b"hours of work")
    for named in (path.name, f"../{shop.folder.name}/{path.name}", "plan.xlsx"):
        ran = shop.run("limits", "import", path.name, "--faults", named, by=shop.anna)
        assert (ran.code, "of its own" in ran.err) == (2, True)
    assert path.read_bytes() == before
    assert (shop.folder / "plan.xlsx").read_bytes() == b"hours of work"


def test_a_warning_is_told_as_one_and_accepted_by_its_code(shop: Shop) -> None:
    path = csv_file(shop.folder, line(machining_limit="25.7"))
    warned = shop.run("limits", "import", path.name, by=shop.anna)
    assert warned.code == 3
    assert "\n  warning: " in warned.err
    assert "--accept-warning CODE=REASON" in " ".join(warned.err.split())
    assert "1 unanswered warning in 1 row; nothing was entered" in " ".join(warned.err.split())
    code = warned.err.partition("[")[2].partition("]")[0]
    accept = f"{code}=a thin rotor, read twice"
    ran = shop.run("limits", "import", path.name, "--accept-warning", accept, "--json", by=shop.anna)
    document = json.loads(ran.out)
    assert (ran.code, document["drafts"], document["warnings_accepted"]) == (0, 1, {code: 1})
    assert f"1 x {code}" in ran.err


@pytest.mark.parametrize(
    "args",
    [
        ("--rows", "3-2"),
        ("--rows", "a"),
        ("--accept-warning", "unusual_value"),
        ("--accept-warning", "unusual_value=short"),
    ],
)
def test_an_option_that_cannot_be_read_is_a_usage_error(shop: Shop, args: tuple[str, str]) -> None:
    path = csv_file(shop.folder, LINE)
    ran = shop.run("limits", "import", path.name, *args, by=shop.anna)
    assert ran.code == 2
    assert args[0] in ran.err


def test_who_enters_has_a_key_that_may(shop: Shop) -> None:
    path = csv_file(shop.folder, LINE).name
    assert shop.run("limits", "import", path).code == 2
    assert "limits:write" in shop.run("limits", "import", path).err
    unknown = shop.run("limits", "import", path, by=f"tr_{'x' * 43}")
    assert (unknown.code, "not known" in unknown.err) == (3, True)
    wrong = shop.run("limits", "import", path, by=shop.ben)
    assert (wrong.code, "has not the scope limits:write" in wrong.err) == (3, True)
    assert shop.run("limits", "verify", path, by=shop.anna).code == 3
    assert shop.run("release", "publish", "--notes", "x", by=shop.anna).code == 3
    assert shop.run("limits", "import", path, "--key", shop.anna).code == 0
    revoked = shop.run("keys", "revoke", "anna")
    assert revoked.code == 0
    assert shop.run("limits", "import", path, by=shop.anna).code == 3


def test_verifying_tells_each_row_and_never_a_value(shop: Shop) -> None:
    first = csv_file(shop.folder, f"{LINE},front-1,,", f"{REAR},rear-1,,", header=WITH_ID)
    assert shop.run("limits", "import", first.name, by=shop.anna).code == 0
    second = csv_file(shop.folder, line(discard_limit="24.3"), REAR, line(make="Isvalt"), name="second.csv")
    dry = shop.run("limits", "verify", second.name, "--dry-run", by=shop.ben)
    assert "3 rows, 2 of them with an open draft" in " ".join(dry.err.split())
    ran = shop.run("limits", "verify", second.name, by=shop.ben)
    assert ran.code == 3
    assert "row 2: front-1 differs in discard_limit\n" in ran.out
    assert "row 3: rear-1 verified\n" in ran.out
    assert "row 4: no draft\n" in ran.out
    assert "1 verified, 1 differs, 1 no draft" in " ".join(ran.err.split())
    assert "24" not in ran.out + ran.err
    again = shop.run("limits", "verify", second.name, "--json", "--rows", "2", by=shop.ben)
    told, done = map(json.loads, again.out.splitlines())
    assert (told["row"], told["outcome"], told["columns"]) == (2, "differs", ["discard_limit"])
    assert (done["done"], done["rows"], done["outcomes"]["differs"]) == (True, 1, 1)


def test_a_second_file_with_a_fault_compares_nothing(shop: Shop) -> None:
    path = csv_file(shop.folder, LINE)
    assert shop.run("limits", "import", path.name, by=shop.anna).code == 0
    bad = csv_file(shop.folder, LINE, line(axle="frnt"), name="bad.csv")
    ran = shop.run("limits", "verify", bad.name, by=shop.ben)
    assert (ran.code, ran.out) == (3, "")
    assert "row 3, axle: frnt" in ran.err
    assert "nothing was compared" in ran.err


def test_changes_are_told_with_old_new_why_and_by_whom(shop: Shop) -> None:
    _published(shop, csv_file(shop.folder, f"{LINE},front-1,,", header=WITH_ID))
    thicker = f"{line(discard_limit='24.2')},front-1,1,The maker has raised it."
    second = _published(shop, csv_file(shop.folder, thicker, f"{REAR},rear-1,,", header=WITH_ID, name="2.csv"))
    assert second["number"] == 2
    ran = shop.run("release", "changes", "--since", "1")
    assert ran.code == 0
    assert "release 2: corrected front-1, revision 2 in place of 1" in ran.out
    assert "discard_thickness: 24 -> 24.2" in ran.out
    assert "why: The maker has raised it." in ran.out
    assert "entered by anna, verified by ben" in ran.out
    assert "release 2: added rear-1" in ran.out
    assert "2 changes" in ran.err
    assert shop.run("release", "changes").out == ran.out
    [first] = shop.run("release", "changes", "1", "--since", "0", "--json").out.splitlines()
    assert json.loads(first)["change"] == "added"
    assert shop.run("release", "changes", "--since", "2").code == 2
    assert shop.run("release", "changes", "9", "--since", "0").code == 3
    assert len(shop.run("release", "list", "--json").out.splitlines()) == 2


def test_a_release_follows_the_one_that_it_was_meant_to_follow(shop: Shop) -> None:
    path = csv_file(shop.folder, LINE)
    assert shop.run("limits", "import", path.name, by=shop.anna).code == 0
    assert shop.run("release", "publish", "--notes", "none", by=shop.cleo).code == 3
    assert shop.run("limits", "verify", path.name, by=shop.ben).code == 0
    raced = shop.run("release", "publish", "--notes", "first", "--follows", "4", by=shop.cleo)
    assert (raced.code, "release_race" in raced.err) == (3, True)
    made = shop.run("release", "publish", "--notes", "first", "--follows", "0", by=shop.cleo)
    assert (made.code, made.out) == (0, "1\n")
    assert shop.run("release", "publish", "--notes", "first\nsecond", by=shop.cleo).code == 3


def test_what_cannot_be_exported_or_written_is_told(shop: Shop) -> None:
    assert shop.run("limits", "export", "e.csv").code == 3
    (shop.folder / "e.csv").write_text("hours of work", encoding="utf-8")
    for args in (("export", "e.csv"), ("template", "e.csv"), ("export", "e.ods"), ("template", "e.jsonl")):
        ran = shop.run("limits", *args)
        assert (ran.code, "Traceback" in ran.err) == (2, False)
        assert args[1] in ran.err
    assert (shop.folder / "e.csv").read_text("utf-8") == "hours of work"
    assert shop.run("limits", "import", "none.csv", by=shop.anna).code == 2


def test_a_bar_shows_how_far_it_is_on_a_terminal_and_nowhere_else(shop: Shop) -> None:
    path = csv_file(shop.folder, *[line(brake_option=f"B{number}") for number in range(300)])
    plain = shop.run("limits", "import", path.name, "--dry-run", by=shop.anna)
    assert "Reading" not in plain.err
    code, seen = _on_a_terminal(shop, "limits", "import", path.name)
    assert code == 0
    assert "Reading" in seen
    assert "Storing" in seen
    assert "100%" in seen


def _on_a_terminal(shop: Shop, *args: str) -> tuple[int, str]:
    """Run the real program with its standard error on a terminal; its exit code, and what the terminal got."""
    leader, follower = pty.openpty()
    environment = {**os.environ, "TURNRULE_KEY": shop.anna, "TERM": "xterm"}
    command = [sys.executable, "-m", "turnrule", *args]
    seen = b""
    with subprocess.Popen(
        command, cwd=shop.folder, env=environment, stdout=subprocess.DEVNULL, stderr=follower
    ) as running:
        os.close(follower)
        with contextlib.suppress(OSError):  # a terminal that nobody writes to any more
            while piece := os.read(leader, 65_536):
                seen += piece
        code = running.wait(timeout=120)
    os.close(leader)
    return code, seen.decode()


def test_the_real_program_does_the_same(shop: Shop) -> None:
    path = csv_file(shop.folder, line(axle="frnt"))
    ran = turnrule("limits", "import", path.name, folder=shop.folder, TURNRULE_KEY=shop.anna)
    assert ran == shop.run("limits", "import", path.name, by=shop.anna)
    assert ran.code == 3


def test_every_command_explains_itself(shop: Shop) -> None:
    for command in (
        ["limits", "import"],
        ["limits", "verify"],
        ["limits", "export"],
        ["limits", "template"],
        ["release", "publish"],
        ["release", "list"],
        ["release", "changes"],
    ):
        ran = shop.run(*command, "-h")
        assert ran.code == 0
        assert len(ran.out) > 150
