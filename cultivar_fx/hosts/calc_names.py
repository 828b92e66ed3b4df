"""The names by which LibreOffice knows the add-in.

In a file a function is stored as service and method: ``CFX.WATER_TO_ADD``, which is what is
typed, too.
"""

from __future__ import annotations

from cultivar_fx.catalog.definition import PREFIX

SERVICE = PREFIX.rstrip(".")
IDENTIFIER = "org.cultivar_fx.calc"
IMPLEMENTATION = "org.cultivar_fx.CalcFunctions"
INTERFACE = "org.cultivar_fx.XCalcFunctions"
