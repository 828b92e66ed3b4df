"""The LibreOffice Calc add-in, one file written from the catalog: functions and their help.

Once it is installed, ``=CFX.WATER_TO_ADD("200 lb",6%,62%)`` works in any sheet.
"""

from __future__ import annotations

import zipfile
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

import cultivar_fx
from cultivar_fx.catalog.reference import parameter_help, typed_example, units_named
from cultivar_fx.catalog.registry import functions
from cultivar_fx.hosts.calc_names import IDENTIFIER, IMPLEMENTATION, INTERFACE, SERVICE
from cultivar_fx.hosts.calc_packages import library_files, library_python, own_files
from cultivar_fx.hosts.calc_typelib import Method, type_library
from cultivar_fx.hosts.calc_values import answer_type, argument_types

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Definition

CATEGORY = "Add-In"
"""Calc has no categories but its own, and puts all that others add into this one."""

_COMPONENT = Path(__file__).with_name("calc_component.py")
_TYPES, _REGISTRY, _HELP = "types.rdb", "add-in.components", "CalcAddIns.xcu"
_UNO = "application/vnd.sun.star."
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_ALWAYS = (1980, 1, 1, 0, 0, 0)  # the same source gives the same file

_MANIFEST = """<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">
  <manifest:file-entry manifest:full-path="{types}"
    manifest:media-type="{uno}uno-typelibrary;type=RDB"/>
  <manifest:file-entry manifest:full-path="{registry}"
    manifest:media-type="{uno}uno-components"/>
  <manifest:file-entry manifest:full-path="{help}"
    manifest:media-type="{uno}configuration-data"/>
</manifest:manifest>
"""
_COMPONENTS = """<components xmlns="http://openoffice.org/2010/uno-components">
  <component loader="com.sun.star.loader.Python" uri="{file}">
    <implementation name="{implementation}"><service name="{service}"/></implementation>
  </component>
</components>
"""
_DESCRIPTION = """<description xmlns="http://openoffice.org/extensions/description/2006">
  <identifier value="{identifier}"/>
  <version value="{version}"/>
  <display-name><name lang="en">cultivar_fx: functions for a mushroom farm</name></display-name>
</description>
"""
_CONFIGURATION = """<oor:component-data xmlns:oor="http://openoffice.org/2001/registry"
  xmlns:xs="http://www.w3.org/2001/XMLSchema" oor:name="CalcAddIns"
  oor:package="org.openoffice.Office">
<node oor:name="AddInInfo"><node oor:name="{service}" oor:op="replace">
<node oor:name="AddInFunctions">
{functions}
</node></node></node>
</oor:component-data>
"""


def write_addin(target: Path) -> None:
    """Write the extension to a file of one's own; whoever puts it anywhere puts it there whole."""
    content = BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for place, data in sorted(addin_files().items()):
            archive.writestr(zipfile.ZipInfo(place, _ALWAYS), data, zipfile.ZIP_DEFLATED)
    target.write_bytes(content.getvalue())


def addin_files() -> dict[str, bytes]:
    """Return all files of the extension, by their places."""
    major, minor = library_python()
    texts = {
        "META-INF/manifest.xml": _HEAD
        + _MANIFEST.format(types=_TYPES, registry=_REGISTRY, help=_HELP, uno=_UNO),
        "description.xml": _HEAD
        + _DESCRIPTION.format(identifier=IDENTIFIER, version=cultivar_fx.__version__),
        _REGISTRY: _HEAD
        + _COMPONENTS.format(file=_COMPONENT.name, implementation=IMPLEMENTATION, service=SERVICE),
        _HELP: _HEAD + _configuration(),
    }
    return {
        **{place: text.encode() for place, text in texts.items()},
        _TYPES: type_library(INTERFACE, [_method(wanted) for wanted in functions().values()]),
        _COMPONENT.name: _COMPONENT.read_bytes(),
        **{f"pythonpath/{place}": data for place, data in own_files().items()},
        **{f"libraries-{major}.{minor}/{place}": data for place, data in library_files().items()},
    }


def _method(wanted: Definition) -> Method:
    return Method(wanted.name, answer_type(wanted), argument_types(wanted))


def _configuration() -> str:
    """Write what Calc shows of each function before and while it is typed."""
    nodes = "\n".join(map(_function_node, functions().values()))
    return _CONFIGURATION.format(service=SERVICE, functions=nodes)


def _function_node(wanted: Definition) -> str:
    description = (
        f"{wanted.summary} {wanted.result_help} [{units_named(wanted.result)}] "
        f"Example: {typed_example(wanted)}"
    )
    parameters = "\n".join(
        _node(name, _property("DisplayName", name) + _property("Description", text))
        for name, text in _argument_helps(wanted)
    )
    return _node(
        wanted.name,
        _property("DisplayName", wanted.worksheet_name)
        + _property("Description", description)
        + f'<prop oor:name="Category"><value>{CATEGORY}</value></prop>'
        + f'\n<node oor:name="Parameters">\n{parameters}\n</node>',
    )


def _argument_helps(wanted: Definition) -> list[tuple[str, str]]:
    return [(parameter.name, parameter_help(parameter)) for parameter in wanted.parameters]


def _node(name: str, content: str) -> str:
    return f'<node oor:name={quoteattr(name)} oor:op="replace">{content}</node>'


def _property(name: str, text: str) -> str:
    return f'<prop oor:name="{name}"><value xml:lang="en">{escape(text)}</value></prop>'
