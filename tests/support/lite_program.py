"""What happens in Pyodide: main.py is loaded as the add-in does, then every call is made."""

import importlib
import json
import sys
from importlib.metadata import distributions
from pathlib import Path

import lite_addin

sys.modules["xlwings"] = lite_addin

main = importlib.import_module("main")

told = lite_addin.custom_functions(main)
calls = json.loads(Path("calls.json").read_text(encoding="utf-8"))
answers = []
for typed, given in calls:
    try:
        answers.append(lite_addin.call(getattr(main, told[typed]["id"]), given))
    except Exception as error:
        answers.append(f"{type(error).__name__}: {error}")
report = {
    "platform": sys.platform,
    "installed": sorted(one.name.lower() for one in distributions()),
    "functions": told,
    "answers": answers,
}
Path("answers.json").write_text(json.dumps(report), encoding="utf-8")
