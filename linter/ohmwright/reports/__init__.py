"""Report writers: a result in, text out.

What lives here: one file for each output format. A writer holds layout and escaping only; words of findings are built by the rules. To add an
output: write a file with `write(result, …) -> str` and name it in `WRITERS`.
"""

from __future__ import annotations

__all__ = ["WRITERS"]

WRITERS: dict[str, str] = {
    "text": "ohmwright.reports.text",
    "json": "ohmwright.reports.json_report",
    "sarif": "ohmwright.reports.sarif",
    "github": "ohmwright.reports.workflow_commands",
    "markdown": "ohmwright.reports.markdown",
    "junit": "ohmwright.reports.junit",
    "gitlab": "ohmwright.reports.gitlab",
}
