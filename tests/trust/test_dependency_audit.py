"""What the audit of the installed packages makes of its tool's reports."""

from __future__ import annotations

import json
import sys
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / ".ci" / "audit"
SOUND = {"name": "sound", "version": "1.0", "vulns": []}
WEAK = {"name": "weak", "version": "2.1", "vulns": [{"id": "INVENTED-2026-1"}]}
UNKNOWN = {"name": "unheard-of", "skip_reason": "not found"}


@pytest.fixture(scope="module")
def audit():
    loader = SourceFileLoader("dependency_audit", str(SCRIPT))
    module = module_from_spec(spec_from_loader(loader.name, loader))
    sys.modules[loader.name] = module
    writes, sys.dont_write_bytecode = sys.dont_write_bytecode, True
    loader.exec_module(module)
    sys.dont_write_bytecode = writes
    yield module
    del sys.modules[loader.name]


def report(*packages):
    return json.dumps({"dependencies": packages, "fixes": []})


def test_a_known_weakness_is_named_and_fails(audit, monkeypatch, capsys):
    found = audit.audited(report(SOUND, WEAK, UNKNOWN))

    assert found.weak == ("weak 2.1: INVENTED-2026-1",)
    assert found.says == "dependency audit: 2 packages, 1 with a known weakness; 1 not audited"
    assert _main(audit, monkeypatch, report(SOUND, WEAK)) == 1
    assert "INVENTED-2026-1" in capsys.readouterr().out


def test_packages_without_a_known_weakness_pass(audit, monkeypatch):
    assert _main(audit, monkeypatch, report(SOUND)) == 0
    assert "no known weakness" in audit.audited(report(SOUND)).says


@pytest.mark.parametrize("text", ["", report(UNKNOWN, UNKNOWN)])
def test_no_answer_is_never_told_as_no_weakness(audit, text):
    says = audit.audited(text).says

    assert "no advisory service answered" in says
    assert "no known weakness" not in says


def _main(audit, monkeypatch, text):
    class Done:
        stdout = text

    monkeypatch.setattr(audit.subprocess, "run", lambda *_, **__: Done)
    return audit.main()
