"""The workflows, the action and the examples, held by actionlint, zizmor and ShellCheck, and pinned to hashes that were seen.

Where each hash was seen: workflow files inside of source distributions on the Python package index.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
ACTION = ROOT / ".github" / "actions" / "review"
WORKFLOWS = [
    *sorted((ROOT / ".github" / "workflows").glob("*.yml")),
    *sorted((ROOT / "examples" / "review").glob("github-*.yml")),
]
SCRIPTS = [*sorted(ACTION.glob("*.sh")), ROOT / "examples" / "review" / "review.sh"]
SEEN = {
    "actions/checkout@3d3c42e5aac5ba805825da76410c181273ba90b1 # v7.0.1": "pytest 9.2.0",
    "actions/setup-python@5fda3b95a4ea91299a34e894583c3862153e4b97 # v7.0.0": "pytest 9.2.0",
    "actions/upload-artifact@cf430e030ddbb5b0abf93d22962f4752f3646cd9 # v7.0.2": "pytest 9.2.0",
    "actions/download-artifact@9000827ccba6bdab643e8b6fd33ac0654aef8333 # v8.0.2": "pytest 9.2.0",
    "github/codeql-action/upload-sarif@0d579ffd059c29b07949a3cce3983f0780820c98 # v4.32.6": "attrs 26.1.0",
}
OWN = "your-organisation/ohmwright/.github/actions/review@" + "0" * 40  # to be filled in by whoever copies the example


def program(name: str, reference_skip: Any) -> str:
    found = shutil.which(name) or shutil.which(name, path=str(Path(sys.executable).parent))
    return found or str(reference_skip(name))


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(arguments, cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=False, timeout=120)


def test_workflows_pass_actionlint(reference_skip: Any) -> None:
    done = run(program("actionlint", reference_skip), "-no-color", *map(str, WORKFLOWS))
    assert done.returncode == 0, done.stdout + done.stderr


def test_actionlint_sees_a_mistake(reference_skip: Any, tmp_path: Path) -> None:
    broken = tmp_path / "broken.yml"
    broken.write_text(WORKFLOWS[0].read_text(encoding="utf-8").replace("runs-on: ubuntu-latest", "runs_on: ubuntu-latest"))
    assert run(program("actionlint", reference_skip), str(broken)).returncode == 1


def test_workflows_and_action_pass_zizmor(reference_skip: Any) -> None:
    zizmor = program("zizmor", reference_skip)
    done = run(zizmor, "--offline", "--pedantic", "--color=never", str(ACTION / "action.yml"), *map(str, WORKFLOWS))
    assert done.returncode == 0, done.stdout + done.stderr


def test_zizmor_sees_an_input_in_a_script(reference_skip: Any, tmp_path: Path) -> None:
    broken = tmp_path / "action.yml"
    text = (ACTION / "action.yml").read_text(encoding="utf-8")
    broken.write_text(text.replace("""run: '"$ACTION_FOLDER/verdict.sh"'""", "run: echo ${{ inputs.bar }}"), encoding="utf-8")
    done = run(program("zizmor", reference_skip), "--offline", "--color=never", str(broken))
    assert done.returncode != 0
    assert "template-injection" in done.stdout


def test_scripts_pass_shellcheck(reference_skip: Any) -> None:
    done = run(program("shellcheck", reference_skip), "--external-sources", *map(str, SCRIPTS))
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("path", [ACTION / "action.yml", *WORKFLOWS], ids=lambda path: path.name)
def test_other_actions_are_pinned_to_hashes_that_were_seen(path: Path) -> None:
    used = re.findall(r"uses: (.+)", path.read_text(encoding="utf-8"))
    assert used
    assert set(used) <= {*SEEN, OWN}


def test_no_expression_stands_in_a_script() -> None:
    """What an expression puts into a script is run: inputs come by variables."""
    for path in (ACTION / "action.yml", *WORKFLOWS):
        document = yaml.safe_load(path.read_text(encoding="utf-8"))
        jobs = document["jobs"].values() if "jobs" in document else [document["runs"]]
        for step in (step for job in jobs for step in job["steps"]):
            assert "${{" not in step.get("run", ""), path
    for script in SCRIPTS:
        assert "${{" not in script.read_text(encoding="utf-8"), script


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_scripts_can_be_run(script: Path) -> None:
    if sys.platform != "win32" and script.name != "common.sh":
        assert script.stat().st_mode & 0o111


def test_the_workflow_asks_for_no_more_than_it_needs() -> None:
    document = yaml.safe_load((ROOT / "examples" / "review" / "github-workflow.yml").read_text(encoding="utf-8"))
    assert document["permissions"] == {}
    assert list(document[True]) == ["pull_request"]  # "on" is a truth value to a reader of YAML 1.1
    (job,) = document["jobs"].values()
    assert job["permissions"] == {"contents": "read", "security-events": "write"}
    assert job["steps"][0]["with"]["persist-credentials"] is False


def test_the_page_of_the_action_names_every_input_and_output() -> None:
    document = yaml.safe_load((ACTION / "action.yml").read_text(encoding="utf-8"))
    page = (ACTION / "README.md").read_text(encoding="utf-8")
    inputs, outputs = page.partition("## Inputs")[2].split("## Outputs")
    told = {row[0]: row[1].strip("` ") for row in re.findall(r"^\| `([a-z-]+)` \| ([^|]+) \|", inputs, re.MULTILINE)}
    assert set(told) == set(document["inputs"])
    for name, facts in document["inputs"].items():
        assert told[name] == facts["default"] or not facts["default"], name
    assert set(re.findall(r"`([a-z-]+)`", "".join(re.findall(r"^\| (`[^|]+) \|", outputs, re.MULTILINE)))) == set(
        document["outputs"]
    )
