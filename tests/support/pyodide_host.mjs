// Starts Pyodide from a folder of its files, installs all wheels of a working folder as micropip
// does in a browser, and runs the working folder's program. Nothing may be downloaded on the way.

import { pathToFileURL } from "node:url";

const [pyodideFolder, workingFolder] = process.argv.slice(2);

globalThis.fetch = (address) => {
  throw new Error(`nothing may be downloaded, but ${address} is asked for`);
};

const { loadPyodide } = await import(pathToFileURL(`${pyodideFolder}/pyodide.mjs`));
const pyodide = await loadPyodide({ indexURL: pyodideFolder });
pyodide.FS.mkdirTree("/work");
pyodide.FS.mount(pyodide.FS.filesystems.NODEFS, { root: workingFolder }, "/work");

await pyodide.runPythonAsync(`
import os, runpy, sys
from pathlib import Path

os.chdir("/work")
wheels = sorted(Path("wheels").resolve().glob("*.whl"))
sys.path += [str(wheel) for wheel in wheels if wheel.name.startswith("micropip-")]

import micropip

await micropip.install([f"emfs:{wheel}" for wheel in wheels])
sys.path.insert(0, "/work")
runpy.run_path("program.py", run_name="__main__")
`);
