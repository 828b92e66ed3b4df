Attribute VB_Name = "CultivarFx"
Option Explicit

' Written by cultivar-fx 0.1.0; "cultivar-fx install excel" writes it anew.
' The server and its library are those of xlwings 0.37.8, under the BSD 3-clause license,
' copyright (c) Zoomer Analytics LLC.

#If Win64 Then
    Private Declare PtrSafe Function ActivateServer Lib "xlwings64-0.37.8.dll" _
        Alias "XLPyDLLActivateAuto" (ByRef server As Variant, _
        Optional ByVal command As String = "", Optional ByVal mode As Long = 1) As Long
    Private Const LIBRARY As String = "xlwings64-0.37.8.dll"
#Else
    Private Declare PtrSafe Function ActivateServer Lib "xlwings32-0.37.8.dll" _
        Alias "XLPyDLLActivateAuto" (ByRef server As Variant, _
        Optional ByVal command As String = "", Optional ByVal mode As Long = 1) As Long
    Private Const LIBRARY As String = "xlwings32-0.37.8.dll"
#End If
Private Declare PtrSafe Function LoadLibrary Lib "kernel32" _
    Alias "LoadLibraryW" (ByVal path As LongPtr) As LongPtr

Private Const OWN_ERROR As Long = 1001
Private lastFault As String

Private Function PythonServer() As Object
    Dim path As String, started As Variant
    path = "C:\Farms\Jos" & ChrW(233) & "\" & LIBRARY
    If LoadLibrary(StrPtr(path)) = 0 Then
        Err.Raise OWN_ERROR, , "Excel cannot load " & path & _
            "; run ""cultivar-fx install excel"" and start Excel again."
    End If
    If ActivateServer(started, StartCommand(), 1) <> 0 Then Err.Raise OWN_ERROR, , started
    Set PythonServer = started
End Function

Private Function StartCommand() As String
    StartCommand = "cmd.exe /K """"" & "C:\Farms\Jos" & ChrW(233) & "\Scripts\python.exe" & _
        """ -P -B -c ""import xlwings; xlwings.serve('$(CLSID)')"""""
End Function

Private Function AnswerOf(functionName As String, given As Variant) As Variant
    Dim answer As Variant
    On Error GoTo failed
    answer = PythonServer().CallUDF("cultivar_fx.hosts.excel_udf", functionName, CellsIn(given))
    AnswerOf = WithErrors(answer)
    lastFault = ""
    Exit Function
failed:
    lastFault = Err.Description
    AnswerOf = CVErr(xlErrValue)
End Function

Private Function ReasonOf(answer As Variant) As Variant
    ' Where Python itself cannot answer, what stopped it is the reason.
    ReasonOf = answer
    If IsError(answer) And lastFault <> "" Then ReasonOf = lastFault
End Function

Private Function CellsIn(given As Variant) As Variant
    Dim taken() As Variant, place As Long
    ReDim taken(LBound(given) To UBound(given))
    For place = LBound(given) To UBound(given)
        If IsObject(given(place)) Then
            taken(place) = CellsOf(given(place))
        Else
            taken(place) = given(place)
        End If
    Next place
    CellsIn = taken
End Function

Private Function CellsOf(ByVal area As Object) As Variant
    ' Cells with a currency format would come with four decimals only, so they come as numbers.
    Dim shown As Variant, exact As Variant, row As Long, column As Long
    If area.Areas.Count > 1 Then
        Err.Raise OWN_ERROR, , "An argument has several areas, needs one range."
    End If
    shown = area.Value
    exact = area.Value2
    If Not IsArray(shown) Then
        If VarType(shown) = vbCurrency Then shown = exact
    Else
        For row = LBound(shown, 1) To UBound(shown, 1)
            For column = LBound(shown, 2) To UBound(shown, 2)
                If VarType(shown(row, column)) = vbCurrency Then
                    shown(row, column) = exact(row, column)
                End If
            Next column
        Next row
    End If
    CellsOf = shown
End Function

Private Function WithErrors(answer As Variant) As Variant
    Dim row As Long, column As Long
    If Not IsArray(answer) Then
        WithErrors = CellValue(answer)
        Exit Function
    End If
    If HasRows(answer) Then
        For row = LBound(answer, 1) To UBound(answer, 1)
            For column = LBound(answer, 2) To UBound(answer, 2)
                answer(row, column) = CellValue(answer(row, column))
            Next column
        Next row
    Else
        For column = LBound(answer) To UBound(answer)
            answer(column) = CellValue(answer(column))
        Next column
    End If
    WithErrors = answer
End Function

Private Function HasRows(answer As Variant) As Boolean
    ' A single row comes as a plain list, which has no second dimension.
    On Error GoTo plainList
    HasRows = UBound(answer, 2) >= LBound(answer, 2)
plainList:
End Function

Private Function CellValue(part As Variant) As Variant
    CellValue = part
    If VarType(part) <> vbString Then Exit Function
    Select Case part
        Case "#DIV/0!": CellValue = CVErr(xlErrDiv0)
        Case "#N/A": CellValue = CVErr(xlErrNA)
        Case "#NAME?": CellValue = CVErr(xlErrName)
        Case "#NULL!": CellValue = CVErr(xlErrNull)
        Case "#NUM!": CellValue = CVErr(xlErrNum)
        Case "#REF!": CellValue = CVErr(xlErrRef)
        Case "#VALUE!": CellValue = CVErr(xlErrValue)
    End Select
End Function

Public Sub DescribeFunctions()
    ' Excel keeps the descriptions in the file: this runs once, before the add-in is saved.
    Help_DRY_MASS
    Help_MASS_AT_MOISTURE
    Help_MOISTURE_FROM_SAMPLE
    Help_WET_BASIS
    Help_DRY_BASIS
    Help_MOISTURE_OF_MIX
    Help_WATER_TO_ADD
    Help_DRY_MATERIAL_TO_ADD
    Help_NITROGEN_OF_MIX
    Help_CARBON_NITROGEN_RATIO
    Help_SUPPLEMENT_SHARE
    Help_METER_SETTING
    Help_BAG_COUNT
    Help_LEFT_OVER
    Help_BATCH_MASS
    Help_BULK_DENSITY
    Help_FILL_VOLUME
    Help_BLOCK_LENGTH
    Help_LARGEST_BATCH
    Help_MIXER_LOADS
    Help_BOILING_POINT
    Help_SPECIFIC_HEAT
    Help_HEAT_UP_ENERGY
    Help_HEAT_UP_HOURS
    Help_STEAM_RATE
    Help_LETHAL_RATE
    Help_LETHALITY
    Help_CORE_TEMPERATURE
    Help_CORE_HOURS
    Help_DIFFUSIVITY_FROM_PROBE
    Help_COOLING_HOURS
    Help_COLONY_CORE_RISE
    Help_SPAWN_NEEDED
    Help_SPAWN_RATE
    Help_SPAWN_RATE_DRY
    Help_SPAWN_BAGS
    Help_BLOCKS_PER_SPAWN_BAG
    Help_SPAWN_TO_START
    Help_RESPIRATION_HEAT
    Help_WALL_HEAT_LOSS
    Help_HEATER_POWER
    Help_COOLING_POWER
    Help_FRESH_AIR
    Help_ROOM_CARBON_DIOXIDE
    Help_CARBON_DIOXIDE_AFTER
    Help_AIR_CHANGES
    Help_AIR_CHANGES_FROM_DECAY
    Help_CARBON_DIOXIDE_FROM_RISE
    Help_SATURATION_PRESSURE
    Help_HUMIDITY_RATIO
    Help_DEW_POINT
    Help_VAPOR_PRESSURE_DEFICIT
    Help_RELATIVE_HUMIDITY
    Help_HUMIDIFYING_WATER
    Help_AIR_HEAT
    Help_BIOLOGICAL_EFFICIENCY
    Help_EXPECTED_HARVEST
    Help_YIELD_RATE
    Help_EFFICIENCY_FROM_YIELD
    Help_DRYING_RATIO
    Help_DRIED_MASS
    Help_HARVEST_PER_AREA
    Help_SPENT_SUBSTRATE
    Help_HARVEST_HEAT
    Help_COLD_ROOM_POWER
    Help_STORAGE_LOSS
    Help_LOSS_LOW
    Help_LOSS_HIGH
    Help_LOSS_DIFFERENCE_LOW
    Help_LOSS_DIFFERENCE_HIGH
    Help_BLOCKS_TO_START
    Help_BLOCKS_FOR_CONFIDENCE
    Help_TRIAL_BLOCKS
    Help_WELCH_P_VALUE
    Help_BLOCKS_TO_INSPECT
    Help_DISPERSION
    Help_DESIGN_EFFECT
    Help_CREDIBILITY
    Help_BLENDED
    Help_LOOK_CONFIDENCE
    Help_COST_PER_POUND
    Help_COST_PER_KILOGRAM
    Help_COST_AFTER_LOSSES
    Help_PRICE_FOR_MARGIN
    Help_PRICE_FOR_MARKUP
    Help_MARGIN
    Help_MARKUP
    Help_BREAK_EVEN
    Help_YEARLY_DEPRECIATION
    Help_LABOR_COST
    Help_PAYBACK_YEARS
    Help_BLOCKS_FOR_DEMAND
    Help_BLOCKS_IN_PROGRESS
    Help_SHELF_SPACES
    Help_BLOCKS_PER_WEEK
    Help_START_DATE
    Help_CONVERT_UNITS
    Help_WHY
    Help_HARVEST_SUMMARY
End Sub

Private Sub DescribeFunction(functionName As String, summary As String, help As Variant)
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!" & functionName, _
        Description:=summary, Category:="Cultivar FX", ArgumentDescriptions:=help
End Sub

Public Function CFX_DRY_MASS(mass As Variant, moisture As Variant, Optional units As Variant) As Variant
    CFX_DRY_MASS = AnswerOf("CFX_DRY_MASS", Array(mass, moisture, units))
End Function

Private Sub Help_DRY_MASS()
    DescribeFunction "CFX_DRY_MASS", _
        "Dry mass in a material of known moisture.", _
        Array("Mass as received. [kg, or lb with us, 0 or more]", _
        "Moisture, wet basis. [fraction, 0 to 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_MASS_AT_MOISTURE(dry_mass As Variant, moisture As Variant, Optional units As Variant) As Variant
    CFX_MASS_AT_MOISTURE = AnswerOf("CFX_MASS_AT_MOISTURE", Array(dry_mass, moisture, units))
End Function

Private Sub Help_MASS_AT_MOISTURE()
    DescribeFunction "CFX_MASS_AT_MOISTURE", _
        "Total mass of a dry mass once it has a given moisture.", _
        Array("Mass without water. [kg, or lb with us, 0 or more]", _
        "Moisture, wet basis. [fraction, 0 to below 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_MOISTURE_FROM_SAMPLE(wet_mass As Variant, oven_dry_mass As Variant, Optional container_mass As Variant, Optional units As Variant) As Variant
    CFX_MOISTURE_FROM_SAMPLE = AnswerOf("CFX_MOISTURE_FROM_SAMPLE", Array(wet_mass, oven_dry_mass, container_mass, units))
End Function

Private Sub Help_MOISTURE_FROM_SAMPLE()
    DescribeFunction "CFX_MOISTURE_FROM_SAMPLE", _
        "Moisture of a sample weighed before and after drying in an oven.", _
        Array("Mass before drying, with its container. [kg, or lb with us, above 0]", _
        "Mass after drying to constant weight, with its container. [kg, or lb with us, 0 or more]", _
        "Mass of the empty container. [kg, or lb with us, 0 or more] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_WET_BASIS(dry_basis_moisture As Variant) As Variant
    CFX_WET_BASIS = AnswerOf("CFX_WET_BASIS", Array(dry_basis_moisture))
End Function

Private Sub Help_WET_BASIS()
    DescribeFunction "CFX_WET_BASIS", _
        "Moisture on wet basis from moisture on dry basis.", _
        Array("Water over dry mass, may be more than 100 %. [fraction, 0 to 20]")
End Sub

Public Function CFX_DRY_BASIS(wet_basis_moisture As Variant) As Variant
    CFX_DRY_BASIS = AnswerOf("CFX_DRY_BASIS", Array(wet_basis_moisture))
End Function

Private Sub Help_DRY_BASIS()
    DescribeFunction "CFX_DRY_BASIS", _
        "Moisture on dry basis from moisture on wet basis.", _
        Array("Water over total mass. [fraction, 0 to below 1]")
End Sub

Public Function CFX_MOISTURE_OF_MIX(masses As Variant, moistures As Variant, Optional units As Variant) As Variant
    CFX_MOISTURE_OF_MIX = AnswerOf("CFX_MOISTURE_OF_MIX", Array(masses, moistures, units))
End Function

Private Sub Help_MOISTURE_OF_MIX()
    DescribeFunction "CFX_MOISTURE_OF_MIX", _
        "Moisture of several materials mixed together.", _
        Array("Mass of each material as received. [kg, or lb with us, 0 or more] A range.", _
        "Moisture of each, wet basis. [fraction, 0 to 1] A range.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_WATER_TO_ADD(mass As Variant, moisture As Variant, target As Variant, Optional units As Variant) As Variant
    CFX_WATER_TO_ADD = AnswerOf("CFX_WATER_TO_ADD", Array(mass, moisture, target, units))
End Function

Private Sub Help_WATER_TO_ADD()
    DescribeFunction "CFX_WATER_TO_ADD", _
        "Water that brings a material to its target moisture.", _
        Array("Mass as received. [kg, or lb with us, 0 or more]", _
        "Moisture now, wet basis. [fraction, 0 to below 1]", _
        "Moisture wanted, wet basis. [fraction, 0 to below 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_DRY_MATERIAL_TO_ADD(mass As Variant, moisture As Variant, target As Variant, added_moisture As Variant, Optional units As Variant) As Variant
    CFX_DRY_MATERIAL_TO_ADD = AnswerOf("CFX_DRY_MATERIAL_TO_ADD", Array(mass, moisture, target, added_moisture, units))
End Function

Private Sub Help_DRY_MATERIAL_TO_ADD()
    DescribeFunction "CFX_DRY_MATERIAL_TO_ADD", _
        "Drier material to add to one that is too wet, for its target moisture.", _
        Array("Mass of the material that is too wet. [kg, or lb with us, 0 or more]", _
        "Its moisture, wet basis. [fraction, 0 to 1]", _
        "Moisture wanted, wet basis. [fraction, 0 to below 1]", _
        "Moisture of what is added, wet basis. [fraction, 0 to below 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_NITROGEN_OF_MIX(masses As Variant, moistures As Variant, nitrogens As Variant, Optional units As Variant) As Variant
    CFX_NITROGEN_OF_MIX = AnswerOf("CFX_NITROGEN_OF_MIX", Array(masses, moistures, nitrogens, units))
End Function

Private Sub Help_NITROGEN_OF_MIX()
    DescribeFunction "CFX_NITROGEN_OF_MIX", _
        "Nitrogen in the dry mass of several materials mixed together.", _
        Array("Mass of each material as received. [kg, or lb with us, 0 or more] A range.", _
        "Moisture of each, wet basis. [fraction, 0 to 1] A range.", _
        "Nitrogen in the dry mass of each. [fraction, 0 to 0.5] A range.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_CARBON_NITROGEN_RATIO(masses As Variant, moistures As Variant, carbons As Variant, nitrogens As Variant, Optional units As Variant) As Variant
    CFX_CARBON_NITROGEN_RATIO = AnswerOf("CFX_CARBON_NITROGEN_RATIO", Array(masses, moistures, carbons, nitrogens, units))
End Function

Private Sub Help_CARBON_NITROGEN_RATIO()
    DescribeFunction "CFX_CARBON_NITROGEN_RATIO", _
        "Carbon to nitrogen ratio of several materials mixed together.", _
        Array("Mass of each material as received. [kg, or lb with us, 0 or more] A range.", _
        "Moisture of each, wet basis. [fraction, 0 to 1] A range.", _
        "Carbon in the dry mass of each. [fraction, 0 to 1] A range.", _
        "Nitrogen in the dry mass of each. [fraction, 0 to 0.5] A range.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SUPPLEMENT_SHARE(base_nitrogen As Variant, supplement_nitrogen As Variant, target_nitrogen As Variant) As Variant
    CFX_SUPPLEMENT_SHARE = AnswerOf("CFX_SUPPLEMENT_SHARE", Array(base_nitrogen, supplement_nitrogen, target_nitrogen))
End Function

Private Sub Help_SUPPLEMENT_SHARE()
    DescribeFunction "CFX_SUPPLEMENT_SHARE", _
        "Share of supplement to mix into a base material for a nitrogen content.", _
        Array("Nitrogen in the dry mass of the base. [fraction, 0 to 0.5]", _
        "Nitrogen in the dry mass of the supplement. [fraction, 0 to 0.5]", _
        "Nitrogen wanted in the dry mass of the mix. [fraction, 0 to 0.5]")
End Sub

Public Function CFX_METER_SETTING(volume As Variant, meter_reading As Variant, measured_volume As Variant, Optional units As Variant) As Variant
    CFX_METER_SETTING = AnswerOf("CFX_METER_SETTING", Array(volume, meter_reading, measured_volume, units))
End Function

Private Sub Help_METER_SETTING()
    DescribeFunction "CFX_METER_SETTING", _
        "What to dial on a water meter that reads off, to get the volume wanted.", _
        Array("Volume wanted. [L, or US gal with us, 0 or more]", _
        "Meter reading in a test with a bucket. [L, or US gal with us, above 0]", _
        "Measured volume in the bucket after that test. [L, or US gal with us, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BAG_COUNT(batch_mass As Variant, bag_mass As Variant, Optional lost_mass As Variant, Optional units As Variant) As Variant
    CFX_BAG_COUNT = AnswerOf("CFX_BAG_COUNT", Array(batch_mass, bag_mass, lost_mass, units))
End Function

Private Sub Help_BAG_COUNT()
    DescribeFunction "CFX_BAG_COUNT", _
        "Whole bags that a batch fills.", _
        Array("Mass of the hydrated batch. [kg, or lb with us, 0 or more]", _
        "Substrate in one bag. [kg, or lb with us, 0.01 to 200]", _
        "Mixer residue, spills and samples. [kg, or lb with us, 0 or more] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_LEFT_OVER(batch_mass As Variant, bag_mass As Variant, Optional lost_mass As Variant, Optional units As Variant) As Variant
    CFX_LEFT_OVER = AnswerOf("CFX_LEFT_OVER", Array(batch_mass, bag_mass, lost_mass, units))
End Function

Private Sub Help_LEFT_OVER()
    DescribeFunction "CFX_LEFT_OVER", _
        "Substrate that is left once the last full bag is filled.", _
        Array("Mass of the hydrated batch. [kg, or lb with us, 0 or more]", _
        "Substrate in one bag. [kg, or lb with us, 0.01 to 200]", _
        "Mixer residue, spills and samples. [kg, or lb with us, 0 or more] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BATCH_MASS(bags As Variant, bag_mass As Variant, Optional lost_mass As Variant, Optional units As Variant) As Variant
    CFX_BATCH_MASS = AnswerOf("CFX_BATCH_MASS", Array(bags, bag_mass, lost_mass, units))
End Function

Private Sub Help_BATCH_MASS()
    DescribeFunction "CFX_BATCH_MASS", _
        "Batch to mix so that a number of bags can be filled.", _
        Array("Number of bags wanted. [count, 0 or more, whole]", _
        "Substrate in one bag. [kg, or lb with us, 0.01 to 200]", _
        "Mixer residue, spills and samples. [kg, or lb with us, 0 or more] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BULK_DENSITY(mass As Variant, volume As Variant, Optional units As Variant) As Variant
    CFX_BULK_DENSITY = AnswerOf("CFX_BULK_DENSITY", Array(mass, volume, units))
End Function

Private Sub Help_BULK_DENSITY()
    DescribeFunction "CFX_BULK_DENSITY", _
        "Bulk density of a material from a container filled with it.", _
        Array("Mass of the content, without its container. [kg, or lb with us, 0 or more]", _
        "Volume that it fills. [L, or US gal with us, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_FILL_VOLUME(bag_mass As Variant, bulk_density As Variant, Optional units As Variant) As Variant
    CFX_FILL_VOLUME = AnswerOf("CFX_FILL_VOLUME", Array(bag_mass, bulk_density, units))
End Function

Private Sub Help_FILL_VOLUME()
    DescribeFunction "CFX_FILL_VOLUME", _
        "Volume of loose substrate that fills a bag to its mass.", _
        Array("Substrate in one bag. [kg, or lb with us, 0.01 to 200]", _
        "Bulk density of the hydrated substrate as it is filled. [kg/L, or lb/gal with us, 0.02 to 2]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BLOCK_LENGTH(bag_mass As Variant, bulk_density As Variant, thickness As Variant, width As Variant, Optional units As Variant) As Variant
    CFX_BLOCK_LENGTH = AnswerOf("CFX_BLOCK_LENGTH", Array(bag_mass, bulk_density, thickness, width, units))
End Function

Private Sub Help_BLOCK_LENGTH()
    DescribeFunction "CFX_BLOCK_LENGTH", _
        "Third edge of a block, from its mass, its bulk density and the other two edges.", _
        Array("Substrate in one bag. [kg, or lb with us, 0 or more]", _
        "Bulk density of the substrate as it stands in the bag. [kg/L, or lb/gal with us, 0.02 to 3]", _
        "One edge of the block, which is taken as a brick. [cm, or in with us, above 0]", _
        "Another edge. [cm, or in with us, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_LARGEST_BATCH(mixer_volume As Variant, bulk_density As Variant, working_fill As Variant, Optional units As Variant) As Variant
    CFX_LARGEST_BATCH = AnswerOf("CFX_LARGEST_BATCH", Array(mixer_volume, bulk_density, working_fill, units))
End Function

Private Sub Help_LARGEST_BATCH()
    DescribeFunction "CFX_LARGEST_BATCH", _
        "Largest batch that a mixer takes in one load.", _
        Array("Volume of the drum or trough, filled to the brim. [L, or US gal with us, 1 to 100000]", _
        "Bulk density of the hydrated substrate in the mixer. [kg/L, or lb/gal with us, 0.02 to 2]", _
        "Share of the volume that still mixes well. [fraction, above 0 to 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_MIXER_LOADS(batch_mass As Variant, mixer_volume As Variant, bulk_density As Variant, working_fill As Variant, Optional units As Variant) As Variant
    CFX_MIXER_LOADS = AnswerOf("CFX_MIXER_LOADS", Array(batch_mass, mixer_volume, bulk_density, working_fill, units))
End Function

Private Sub Help_MIXER_LOADS()
    DescribeFunction "CFX_MIXER_LOADS", _
        "Loads that a mixer needs for a batch.", _
        Array("Mass of the hydrated batch. [kg, or lb with us, 0 or more]", _
        "Volume of the drum or trough, filled to the brim. [L, or US gal with us, 1 to 100000]", _
        "Bulk density of the hydrated substrate in the mixer. [kg/L, or lb/gal with us, 0.02 to 2]", _
        "Share of the volume that still mixes well. [fraction, above 0 to 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BOILING_POINT(altitude As Variant, Optional units As Variant) As Variant
    CFX_BOILING_POINT = AnswerOf("CFX_BOILING_POINT", Array(altitude, units))
End Function

Private Sub Help_BOILING_POINT()
    DescribeFunction "CFX_BOILING_POINT", _
        "Temperature of steam at atmospheric pressure.", _
        Array("Altitude. [m, or ft with us, -500 to 11000]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SPECIFIC_HEAT(moisture As Variant, Optional temperature As Variant, Optional units As Variant) As Variant
    CFX_SPECIFIC_HEAT = AnswerOf("CFX_SPECIFIC_HEAT", Array(moisture, temperature, units))
End Function

Private Sub Help_SPECIFIC_HEAT()
    DescribeFunction "CFX_SPECIFIC_HEAT", _
        "Specific heat of wet substrate.", _
        Array("Moisture, wet basis. [fraction, 0 to 1]", _
        "Mean temperature of the heating. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150] 60 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_HEAT_UP_ENERGY(mass As Variant, moisture As Variant, start_temperature As Variant, end_temperature As Variant, Optional units As Variant) As Variant
    CFX_HEAT_UP_ENERGY = AnswerOf("CFX_HEAT_UP_ENERGY", Array(mass, moisture, start_temperature, end_temperature, units))
End Function

Private Sub Help_HEAT_UP_ENERGY()
    DescribeFunction "CFX_HEAT_UP_ENERGY", _
        "Energy that heats a batch of substrate, without losses and without the vessel.", _
        Array("Mass of wet substrate. [kg, or lb with us, 0 or more]", _
        "Moisture, wet basis. [fraction, 0 to 1]", _
        "Temperature before; frozen substrate takes more than this says. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "Temperature after. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_HEAT_UP_HOURS(energy As Variant, power As Variant, Optional efficiency As Variant, Optional units As Variant) As Variant
    CFX_HEAT_UP_HOURS = AnswerOf("CFX_HEAT_UP_HOURS", Array(energy, power, efficiency, units))
End Function

Private Sub Help_HEAT_UP_HOURS()
    DescribeFunction "CFX_HEAT_UP_HOURS", _
        "Hours that a boiler or heater takes to deliver an energy.", _
        Array("Energy to deliver, such as the answer of HEAT_UP_ENERGY. [kWh, 0 to 100000]", _
        "Power of the boiler or heater. [kW, above 0 to 2000]", _
        "Share of the power that reaches the load; 1 is without losses. Assumption: measure yours. [fraction, 0.05 to 1] 1 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_STEAM_RATE(power As Variant, Optional efficiency As Variant, Optional feed_temperature As Variant, Optional units As Variant) As Variant
    CFX_STEAM_RATE = AnswerOf("CFX_STEAM_RATE", Array(power, efficiency, feed_temperature, units))
End Function

Private Sub Help_STEAM_RATE()
    DescribeFunction "CFX_STEAM_RATE", _
        "Steam that a boiler makes at atmospheric pressure, which is the feed water it takes.", _
        Array("Power of the boiler. [kW, 0 to 2000]", _
        "Share of the power that ends up in steam; 1 is without losses. Assumption: measure yours. [fraction, 0.05 to 1] 1 if left out.", _
        "Temperature of the feed water. Assumption: measure yours. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 100] 15 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_LETHAL_RATE(temperature As Variant, Optional reference_temperature As Variant, Optional z_value As Variant, Optional units As Variant) As Variant
    CFX_LETHAL_RATE = AnswerOf("CFX_LETHAL_RATE", Array(temperature, reference_temperature, z_value, units))
End Function

Private Sub Help_LETHAL_RATE()
    DescribeFunction "CFX_LETHAL_RATE", _
        "Minutes at the reference temperature that one minute at a temperature is worth.", _
        Array("Temperature in the middle of the block. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 200]", _
        "Temperature that it is compared with. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 200] 121.1 if left out.", _
        "Temperature difference that makes ten times the rate. [K, or " & ChrW(176) & "F with us, 1 to 50] 10 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_LETHALITY(hours As Variant, temperatures As Variant, Optional reference_temperature As Variant, Optional z_value As Variant, Optional units As Variant) As Variant
    CFX_LETHALITY = AnswerOf("CFX_LETHALITY", Array(hours, temperatures, reference_temperature, z_value, units))
End Function

Private Sub Help_LETHALITY()
    DescribeFunction "CFX_LETHALITY", _
        "Minutes at the reference temperature that a logged run is worth.", _
        Array("Time of each reading, in order and without blank lines between them. [h, 0 to 1000] A range.", _
        "Temperature in the middle of the block at each of these times. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 200] A range.", _
        "Temperature that it is compared with. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 200] 121.1 if left out.", _
        "Temperature difference that makes ten times the rate. [K, or " & ChrW(176) & "F with us, 1 to 50] 10 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_CORE_TEMPERATURE(hours As Variant, thickness As Variant, width As Variant, length As Variant, start_temperature As Variant, steam_temperature As Variant, Optional diffusivity As Variant, Optional units As Variant) As Variant
    CFX_CORE_TEMPERATURE = AnswerOf("CFX_CORE_TEMPERATURE", Array(hours, thickness, width, length, start_temperature, steam_temperature, diffusivity, units))
End Function

Private Sub Help_CORE_TEMPERATURE()
    DescribeFunction "CFX_CORE_TEMPERATURE", _
        "Temperature in the middle of a block after some hours in condensing steam.", _
        Array("Time in the steam. [h, 0 to 1000]", _
        "One edge of the block, which is taken as a brick. [cm, or in with us, 0.5 to 500]", _
        "Another edge. [cm, or in with us, 0.5 to 500]", _
        "The third edge. [cm, or in with us, 0.5 to 500]", _
        "Temperature of the block before, the same throughout. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "Temperature of the steam at all sides of the block. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "Thermal diffusivity of the block. Assumption: measure yours, see DIFFUSIVITY_FROM_PROBE. [mm" & ChrW(178) & "/s, 0.01 to 10] 0.15 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_CORE_HOURS(target_temperature As Variant, thickness As Variant, width As Variant, length As Variant, start_temperature As Variant, steam_temperature As Variant, Optional diffusivity As Variant, Optional ramp_hours As Variant, Optional units As Variant) As Variant
    CFX_CORE_HOURS = AnswerOf("CFX_CORE_HOURS", Array(target_temperature, thickness, width, length, start_temperature, steam_temperature, diffusivity, ramp_hours, units))
End Function

Private Sub Help_CORE_HOURS()
    DescribeFunction "CFX_CORE_HOURS", _
        "Hours in condensing steam until the middle of a block reaches a temperature.", _
        Array("Temperature wanted in the middle. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "One edge of the block, which is taken as a brick. [cm, or in with us, 0.5 to 500]", _
        "Another edge. [cm, or in with us, 0.5 to 500]", _
        "The third edge. [cm, or in with us, 0.5 to 500]", _
        "Temperature of the block before, the same throughout. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "Temperature of the steam at all sides of the block. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "Thermal diffusivity of the block. Assumption: measure yours, see DIFFUSIVITY_FROM_PROBE. [mm" & ChrW(178) & "/s, 0.01 to 10] 0.15 if left out.", _
        "Hours in which the steamer climbs steadily from the start to steam temperature; they count in the answer. [h, 0 to 100] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_DIFFUSIVITY_FROM_PROBE(hours As Variant, core_temperature As Variant, thickness As Variant, width As Variant, length As Variant, start_temperature As Variant, steam_temperature As Variant, Optional ramp_hours As Variant, Optional units As Variant) As Variant
    CFX_DIFFUSIVITY_FROM_PROBE = AnswerOf("CFX_DIFFUSIVITY_FROM_PROBE", Array(hours, core_temperature, thickness, width, length, start_temperature, steam_temperature, ramp_hours, units))
End Function

Private Sub Help_DIFFUSIVITY_FROM_PROBE()
    DescribeFunction "CFX_DIFFUSIVITY_FROM_PROBE", _
        "Thermal diffusivity of your own blocks, from a probe in the middle of one of them.", _
        Array("Time since the steam was turned on. [h, above 0]", _
        "What the probe in the middle showed then. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "One edge of the block, which is taken as a brick. [cm, or in with us, 0.5 to 500]", _
        "Another edge. [cm, or in with us, 0.5 to 500]", _
        "The third edge. [cm, or in with us, 0.5 to 500]", _
        "Temperature of the block before, the same throughout. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "Temperature of the steam at all sides of the block. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 150]", _
        "Hours in which the steamer climbed steadily from the start to steam temperature, counted from the same moment as hours. [h, 0 to 100] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_COOLING_HOURS(target_temperature As Variant, thickness As Variant, width As Variant, length As Variant, start_temperature As Variant, air_temperature As Variant, Optional film_coefficient As Variant, Optional conductivity As Variant, Optional diffusivity As Variant, Optional units As Variant) As Variant
    CFX_COOLING_HOURS = AnswerOf("CFX_COOLING_HOURS", Array(target_temperature, thickness, width, length, start_temperature, air_temperature, film_coefficient, conductivity, diffusivity, units))
End Function

Private Sub Help_COOLING_HOURS()
    DescribeFunction "CFX_COOLING_HOURS", _
        "Hours in air until the middle of a hot block is cool enough to spawn.", _
        Array("Temperature at which you spawn. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -20 to 150]", _
        "One edge of the block, which is taken as a brick. [cm, or in with us, 0.5 to 500]", _
        "Another edge. [cm, or in with us, 0.5 to 500]", _
        "The third edge. [cm, or in with us, 0.5 to 500]", _
        "Temperature of the block when it comes out, the same throughout. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -20 to 150]", _
        "Temperature of the air at all sides of the block. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -20 to 150]", _
        "Heat that the air takes from the surface: 5 to 10 in still air, 15 to 25 before a fan. Assumption: measure yours. [W/(m" & ChrW(178) & ChrW(183) & "K), or Btu/(h" & ChrW(183) & "ft" & ChrW(178) & ChrW(183) & ChrW(176) & "F) with us, 0.5 to 500] 8 if left out.", _
        "Thermal conductivity of the block: diffusivity times bulk density times specific heat. Assumption: measure yours. [W/(m" & ChrW(183) & "K), or Btu/(h" & ChrW(183) & "ft" & ChrW(183) & ChrW(176) & "F) with us, 0.02 to 5] 0.3 if left out.", _
        "Thermal diffusivity of the block. Assumption: measure yours, see DIFFUSIVITY_FROM_PROBE. [mm" & ChrW(178) & "/s, 0.01 to 10] 0.15 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_COLONY_CORE_RISE(carbon_dioxide_per_mass As Variant, bulk_density As Variant, thickness As Variant, width As Variant, length As Variant, Optional conductivity As Variant, Optional units As Variant) As Variant
    CFX_COLONY_CORE_RISE = AnswerOf("CFX_COLONY_CORE_RISE", Array(carbon_dioxide_per_mass, bulk_density, thickness, width, length, conductivity, units))
End Function

Private Sub Help_COLONY_CORE_RISE()
    DescribeFunction "CFX_COLONY_CORE_RISE", _
        "How much warmer the middle of a colonizing block, or of a tight stack, is than its surface.", _
        Array("Carbon dioxide that the substrate gives off, for its wet mass. Assumption: measure yours. [g/(h" & ChrW(183) & "kg), or g/(h" & ChrW(183) & "lb) with us, 0 to 20]", _
        "Mass over volume of the block, or of the stack with its gaps. [kg/L, or lb/gal with us, 0.02 to 3]", _
        "One edge of the block or stack, which is taken as a brick. [cm, or in with us, 0.5 to 1000]", _
        "Another edge. [cm, or in with us, 0.5 to 1000]", _
        "The third edge. [cm, or in with us, 0.5 to 1000]", _
        "Thermal conductivity of the block: diffusivity times bulk density times specific heat. Assumption: measure yours. [W/(m" & ChrW(183) & "K), or Btu/(h" & ChrW(183) & "ft" & ChrW(183) & ChrW(176) & "F) with us, 0.02 to 5] 0.3 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SPAWN_NEEDED(substrate_mass As Variant, rate As Variant, Optional units As Variant) As Variant
    CFX_SPAWN_NEEDED = AnswerOf("CFX_SPAWN_NEEDED", Array(substrate_mass, rate, units))
End Function

Private Sub Help_SPAWN_NEEDED()
    DescribeFunction "CFX_SPAWN_NEEDED", _
        "Spawn that a mass of substrate needs.", _
        Array("Mass of hydrated substrate. [kg, or lb with us, 0 or more]", _
        "Spawn rate, wet spawn on wet substrate. [fraction, 0 to 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SPAWN_RATE(spawn_mass As Variant, substrate_mass As Variant, Optional units As Variant) As Variant
    CFX_SPAWN_RATE = AnswerOf("CFX_SPAWN_RATE", Array(spawn_mass, substrate_mass, units))
End Function

Private Sub Help_SPAWN_RATE()
    DescribeFunction "CFX_SPAWN_RATE", _
        "Spawn rate on wet mass.", _
        Array("Mass of spawn as it comes. [kg, or lb with us, 0 or more]", _
        "Mass of hydrated substrate, without the spawn. [kg, or lb with us, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SPAWN_RATE_DRY(spawn_mass As Variant, spawn_moisture As Variant, substrate_mass As Variant, substrate_moisture As Variant, Optional units As Variant) As Variant
    CFX_SPAWN_RATE_DRY = AnswerOf("CFX_SPAWN_RATE_DRY", Array(spawn_mass, spawn_moisture, substrate_mass, substrate_moisture, units))
End Function

Private Sub Help_SPAWN_RATE_DRY()
    DescribeFunction "CFX_SPAWN_RATE_DRY", _
        "Spawn rate on dry mass, to compare spawns and substrates of unlike moisture.", _
        Array("Mass of spawn as it comes. [kg, or lb with us, 0 or more]", _
        "Moisture of the spawn, wet basis. [fraction, 0 to 1]", _
        "Mass of hydrated substrate, without the spawn. [kg, or lb with us, above 0]", _
        "Moisture of the substrate, wet basis. [fraction, 0 to below 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SPAWN_BAGS(spawn_mass As Variant, spawn_bag_mass As Variant, Optional units As Variant) As Variant
    CFX_SPAWN_BAGS = AnswerOf("CFX_SPAWN_BAGS", Array(spawn_mass, spawn_bag_mass, units))
End Function

Private Sub Help_SPAWN_BAGS()
    DescribeFunction "CFX_SPAWN_BAGS", _
        "Bags of spawn to open for a mass of spawn.", _
        Array("Mass of spawn needed. [kg, or lb with us, 0 or more]", _
        "Spawn in one bag. [kg, or lb with us, 0.01 to 200]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BLOCKS_PER_SPAWN_BAG(spawn_bag_mass As Variant, block_mass As Variant, rate As Variant, Optional units As Variant) As Variant
    CFX_BLOCKS_PER_SPAWN_BAG = AnswerOf("CFX_BLOCKS_PER_SPAWN_BAG", Array(spawn_bag_mass, block_mass, rate, units))
End Function

Private Sub Help_BLOCKS_PER_SPAWN_BAG()
    DescribeFunction "CFX_BLOCKS_PER_SPAWN_BAG", _
        "Blocks that one bag of spawn is enough for.", _
        Array("Spawn in one bag. [kg, or lb with us, 0.01 to 200]", _
        "Hydrated substrate in one block, without the spawn. [kg, or lb with us, 0.01 to 200]", _
        "Spawn rate, wet spawn on wet substrate. [fraction, above 0 to 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SPAWN_TO_START(spawn_mass As Variant, expansion As Variant, generations As Variant, Optional loss_rate As Variant, Optional units As Variant) As Variant
    CFX_SPAWN_TO_START = AnswerOf("CFX_SPAWN_TO_START", Array(spawn_mass, expansion, generations, loss_rate, units))
End Function

Private Sub Help_SPAWN_TO_START()
    DescribeFunction "CFX_SPAWN_TO_START", _
        "Spawn to start from, so that some generations of expansion end in the mass wanted.", _
        Array("Mass of spawn wanted in the end. [kg, or lb with us, 0 or more]", _
        "How many times its own mass a bag of spawn makes in a generation. [number, above 1 to 1000]", _
        "How often the spawn is expanded. [count, 0 to 20, whole]", _
        "Share of the bags thrown out in each generation. [fraction, 0 to below 1] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_RESPIRATION_HEAT(carbon_dioxide_rate As Variant, Optional units As Variant) As Variant
    CFX_RESPIRATION_HEAT = AnswerOf("CFX_RESPIRATION_HEAT", Array(carbon_dioxide_rate, units))
End Function

Private Sub Help_RESPIRATION_HEAT()
    DescribeFunction "CFX_RESPIRATION_HEAT", _
        "Heat that a colony gives off along with its carbon dioxide.", _
        Array("Carbon dioxide that the colony gives off. [g/h, 0 or more]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_WALL_HEAT_LOSS(area As Variant, r_value As Variant, inside_temperature As Variant, outside_temperature As Variant, Optional units As Variant) As Variant
    CFX_WALL_HEAT_LOSS = AnswerOf("CFX_WALL_HEAT_LOSS", Array(area, r_value, inside_temperature, outside_temperature, units))
End Function

Private Sub Help_WALL_HEAT_LOSS()
    DescribeFunction "CFX_WALL_HEAT_LOSS", _
        "Heat that leaves a room through walls, ceiling or floor; negative where it comes in.", _
        Array("Area between the room and outside. [m" & ChrW(178) & ", or ft" & ChrW(178) & " with us, 0 or more]", _
        "Thermal resistance of that area, with the air on both sides. [m" & ChrW(178) & ChrW(183) & "K/W, or ft" & ChrW(178) & ChrW(183) & ChrW(176) & "F" & ChrW(183) & "h/Btu with us, 0.02 to 50]", _
        "Temperature of the room. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Temperature on the other side. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_HEATER_POWER(wall_heat_loss As Variant, air_heat As Variant, colony_heat As Variant, Optional margin As Variant, Optional units As Variant) As Variant
    CFX_HEATER_POWER = AnswerOf("CFX_HEATER_POWER", Array(wall_heat_loss, air_heat, colony_heat, margin, units))
End Function

Private Sub Help_HEATER_POWER()
    DescribeFunction "CFX_HEATER_POWER", _
        "Heater that a room needs: walls and fresh air, less what the colony heats; 0 or more.", _
        Array("The answer of WALL_HEAT_LOSS, summed over all walls. [W]", _
        "The answer of AIR_HEAT. [kW]", _
        "The answer of RESPIRATION_HEAT; 0 for a room just filled. [W, 0 or more]", _
        "Share to add for safety and warming up. [fraction, 0 to 10] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_COOLING_POWER(wall_heat_gain As Variant, air_heat As Variant, colony_heat As Variant, Optional equipment_heat As Variant, Optional margin As Variant, Optional units As Variant) As Variant
    CFX_COOLING_POWER = AnswerOf("CFX_COOLING_POWER", Array(wall_heat_gain, air_heat, colony_heat, equipment_heat, margin, units))
End Function

Private Sub Help_COOLING_POWER()
    DescribeFunction "CFX_COOLING_POWER", _
        "Cooling that a room needs: walls, fresh air, colony and equipment together; 0 or more.", _
        Array("Heat that comes in: the answer of WALL_HEAT_LOSS on the hottest day, summed over all walls, with its sign changed. [W]", _
        "The answer of AIR_HEAT on the hottest day, as it is: below 0 where the air has to be cooled. [kW]", _
        "The answer of RESPIRATION_HEAT for a full room. [W, 0 or more]", _
        "Lights, fans, pumps and foggers: what they draw. Assumption: measure yours. [W, 0 or more] 0 if left out.", _
        "Share to add for safety and cooling down. [fraction, 0 to 10] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_FRESH_AIR(carbon_dioxide_rate As Variant, room_ppm As Variant, outdoor_ppm As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_FRESH_AIR = AnswerOf("CFX_FRESH_AIR", Array(carbon_dioxide_rate, room_ppm, outdoor_ppm, altitude, units))
End Function

Private Sub Help_FRESH_AIR()
    DescribeFunction "CFX_FRESH_AIR", _
        "Air flow that holds a room at a carbon dioxide level.", _
        Array("What the crop, and people, give off. [g/h, 0 or more]", _
        "Level to hold. [ppm, 100 to 1e+06]", _
        "Level of the air that comes in. [ppm, 100 to 100000]", _
        "Altitude, for the air pressure; by volume the same gas is more in thin air. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_ROOM_CARBON_DIOXIDE(carbon_dioxide_rate As Variant, air_flow As Variant, outdoor_ppm As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_ROOM_CARBON_DIOXIDE = AnswerOf("CFX_ROOM_CARBON_DIOXIDE", Array(carbon_dioxide_rate, air_flow, outdoor_ppm, altitude, units))
End Function

Private Sub Help_ROOM_CARBON_DIOXIDE()
    DescribeFunction "CFX_ROOM_CARBON_DIOXIDE", _
        "Carbon dioxide level that a room settles at.", _
        Array("What the crop, and people, give off. [g/h, 0 or more]", _
        "Flow of outdoor air. [m" & ChrW(179) & "/h, or cfm with us, above 0]", _
        "Level of the air that comes in. [ppm, 100 to 100000]", _
        "Altitude, for the air pressure; by volume the same gas is more in thin air. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_CARBON_DIOXIDE_AFTER(hours As Variant, start_ppm As Variant, air_flow As Variant, room_volume As Variant, outdoor_ppm As Variant, Optional carbon_dioxide_rate As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_CARBON_DIOXIDE_AFTER = AnswerOf("CFX_CARBON_DIOXIDE_AFTER", Array(hours, start_ppm, air_flow, room_volume, outdoor_ppm, carbon_dioxide_rate, altitude, units))
End Function

Private Sub Help_CARBON_DIOXIDE_AFTER()
    DescribeFunction "CFX_CARBON_DIOXIDE_AFTER", _
        "Carbon dioxide level in a room after some time, with or without a source in it.", _
        Array("Time from the start. [h, 0 or more]", _
        "Level at the start. [ppm, 100 to 1e+06]", _
        "Flow of outdoor air; 0 in a closed room. [m" & ChrW(179) & "/h, or cfm with us, 0 or more]", _
        "Volume of air in the room. [m" & ChrW(179) & ", or ft" & ChrW(179) & " with us, above 0]", _
        "Level of the air that comes in. [ppm, 100 to 100000]", _
        "What the crop, and people, give off. [g/h, 0 or more] 0 if left out.", _
        "Altitude, for the air pressure; by volume the same gas is more in thin air. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_AIR_CHANGES(air_flow As Variant, room_volume As Variant, Optional units As Variant) As Variant
    CFX_AIR_CHANGES = AnswerOf("CFX_AIR_CHANGES", Array(air_flow, room_volume, units))
End Function

Private Sub Help_AIR_CHANGES()
    DescribeFunction "CFX_AIR_CHANGES", _
        "Times in an hour that the air of a room is replaced.", _
        Array("Flow of outdoor air. [m" & ChrW(179) & "/h, or cfm with us, 0 or more]", _
        "Volume of air in the room. [m" & ChrW(179) & ", or ft" & ChrW(179) & " with us, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_AIR_CHANGES_FROM_DECAY(hours As Variant, start_ppm As Variant, end_ppm As Variant, outdoor_ppm As Variant, Optional units As Variant) As Variant
    CFX_AIR_CHANGES_FROM_DECAY = AnswerOf("CFX_AIR_CHANGES_FROM_DECAY", Array(hours, start_ppm, end_ppm, outdoor_ppm, units))
End Function

Private Sub Help_AIR_CHANGES_FROM_DECAY()
    DescribeFunction "CFX_AIR_CHANGES_FROM_DECAY", _
        "Times in an hour that the air of an empty room is replaced, from a falling level.", _
        Array("Time between the two readings. [h, above 0]", _
        "Level at the first reading. [ppm, 100 to 1e+06]", _
        "Level at the second reading. [ppm, 100 to 1e+06]", _
        "Level of the air that comes in. [ppm, 100 to 100000]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_CARBON_DIOXIDE_FROM_RISE(hours As Variant, start_ppm As Variant, end_ppm As Variant, room_volume As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_CARBON_DIOXIDE_FROM_RISE = AnswerOf("CFX_CARBON_DIOXIDE_FROM_RISE", Array(hours, start_ppm, end_ppm, room_volume, altitude, units))
End Function

Private Sub Help_CARBON_DIOXIDE_FROM_RISE()
    DescribeFunction "CFX_CARBON_DIOXIDE_FROM_RISE", _
        "Carbon dioxide that a crop gives off, from the rise in a room with its vents closed.", _
        Array("Time between the two readings; keep it short. [h, above 0]", _
        "Level at the first reading. [ppm, 100 to 1e+06]", _
        "Level at the second reading. [ppm, 100 to 1e+06]", _
        "Volume of air in the room. [m" & ChrW(179) & ", or ft" & ChrW(179) & " with us, above 0]", _
        "Altitude, for the air pressure. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SATURATION_PRESSURE(temperature As Variant, Optional units As Variant) As Variant
    CFX_SATURATION_PRESSURE = AnswerOf("CFX_SATURATION_PRESSURE", Array(temperature, units))
End Function

Private Sub Help_SATURATION_PRESSURE()
    DescribeFunction "CFX_SATURATION_PRESSURE", _
        "Pressure of water vapor in saturated air, over ice below 0 " & ChrW(176) & "C.", _
        Array("Temperature. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 150]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_HUMIDITY_RATIO(temperature As Variant, relative_humidity As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_HUMIDITY_RATIO = AnswerOf("CFX_HUMIDITY_RATIO", Array(temperature, relative_humidity, altitude, units))
End Function

Private Sub Help_HUMIDITY_RATIO()
    DescribeFunction "CFX_HUMIDITY_RATIO", _
        "Mass of water vapor carried by each mass of dry air.", _
        Array("Air temperature. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Relative humidity. [fraction, 0 to 1]", _
        "Altitude, for the air pressure. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_DEW_POINT(temperature As Variant, relative_humidity As Variant, Optional units As Variant) As Variant
    CFX_DEW_POINT = AnswerOf("CFX_DEW_POINT", Array(temperature, relative_humidity, units))
End Function

Private Sub Help_DEW_POINT()
    DescribeFunction "CFX_DEW_POINT", _
        "Temperature at which air begins to drip, or to frost.", _
        Array("Air temperature. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Relative humidity. [fraction, above 0 to 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_VAPOR_PRESSURE_DEFICIT(temperature As Variant, relative_humidity As Variant, Optional units As Variant) As Variant
    CFX_VAPOR_PRESSURE_DEFICIT = AnswerOf("CFX_VAPOR_PRESSURE_DEFICIT", Array(temperature, relative_humidity, units))
End Function

Private Sub Help_VAPOR_PRESSURE_DEFICIT()
    DescribeFunction "CFX_VAPOR_PRESSURE_DEFICIT", _
        "Vapor pressure that air lacks to saturation, which is how hard it dries.", _
        Array("Air temperature. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Relative humidity. [fraction, 0 to 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_RELATIVE_HUMIDITY(dry_bulb As Variant, wet_bulb As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_RELATIVE_HUMIDITY = AnswerOf("CFX_RELATIVE_HUMIDITY", Array(dry_bulb, wet_bulb, altitude, units))
End Function

Private Sub Help_RELATIVE_HUMIDITY()
    DescribeFunction "CFX_RELATIVE_HUMIDITY", _
        "Relative humidity from a dry and a wet thermometer: the check of a drifting sensor.", _
        Array("Air temperature. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Temperature of a thermometer with a wet wick in moving air; frozen below 0 " & ChrW(176) & "C. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Altitude, for the air pressure. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_HUMIDIFYING_WATER(air_flow As Variant, outside_temperature As Variant, outside_humidity As Variant, room_temperature As Variant, room_humidity As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_HUMIDIFYING_WATER = AnswerOf("CFX_HUMIDIFYING_WATER", Array(air_flow, outside_temperature, outside_humidity, room_temperature, room_humidity, altitude, units))
End Function

Private Sub Help_HUMIDIFYING_WATER()
    DescribeFunction "CFX_HUMIDIFYING_WATER", _
        "Water that a humidifier must add to the fresh air; 0 where outside air holds enough.", _
        Array("Flow of outdoor air, measured as it comes in. [m" & ChrW(179) & "/h, or cfm with us, 0 or more]", _
        "Temperature of the outdoor air. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Relative humidity of the outdoor air. [fraction, 0 to 1]", _
        "Temperature of the room. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Relative humidity wanted in the room. [fraction, 0 to 1]", _
        "Altitude, for the air pressure. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_AIR_HEAT(air_flow As Variant, outside_temperature As Variant, outside_humidity As Variant, room_temperature As Variant, room_humidity As Variant, Optional altitude As Variant, Optional units As Variant) As Variant
    CFX_AIR_HEAT = AnswerOf("CFX_AIR_HEAT", Array(air_flow, outside_temperature, outside_humidity, room_temperature, room_humidity, altitude, units))
End Function

Private Sub Help_AIR_HEAT()
    DescribeFunction "CFX_AIR_HEAT", _
        "Heat that brings the fresh air to room temperature and humidity; negative is cooling.", _
        Array("Flow of outdoor air, measured as it comes in. [m" & ChrW(179) & "/h, or cfm with us, 0 or more]", _
        "Temperature of the outdoor air. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Relative humidity of the outdoor air. [fraction, 0 to 1]", _
        "Temperature of the room. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, -50 to 90]", _
        "Relative humidity in the room. [fraction, 0 to 1]", _
        "Altitude, for the air pressure. [m, or ft with us, -500 to 11000] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BIOLOGICAL_EFFICIENCY(fresh_mass As Variant, dry_substrate_mass As Variant, Optional units As Variant) As Variant
    CFX_BIOLOGICAL_EFFICIENCY = AnswerOf("CFX_BIOLOGICAL_EFFICIENCY", Array(fresh_mass, dry_substrate_mass, units))
End Function

Private Sub Help_BIOLOGICAL_EFFICIENCY()
    DescribeFunction "CFX_BIOLOGICAL_EFFICIENCY", _
        "Biological efficiency: fresh mushrooms from a mass of dry substrate.", _
        Array("Fresh mushrooms picked, all flushes. [kg, or lb with us, 0 or more]", _
        "Dry mass of the substrate that they grew on. [kg, or lb with us, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_EXPECTED_HARVEST(dry_substrate_mass As Variant, biological_efficiency As Variant, Optional units As Variant) As Variant
    CFX_EXPECTED_HARVEST = AnswerOf("CFX_EXPECTED_HARVEST", Array(dry_substrate_mass, biological_efficiency, units))
End Function

Private Sub Help_EXPECTED_HARVEST()
    DescribeFunction "CFX_EXPECTED_HARVEST", _
        "Fresh mushrooms to expect from a mass of dry substrate.", _
        Array("Dry mass of the substrate. [kg, or lb with us, 0 or more]", _
        "Fresh mass over dry substrate, may be more than 100 %. [fraction, 0 to 5]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_YIELD_RATE(fresh_mass As Variant, wet_substrate_mass As Variant, Optional units As Variant) As Variant
    CFX_YIELD_RATE = AnswerOf("CFX_YIELD_RATE", Array(fresh_mass, wet_substrate_mass, units))
End Function

Private Sub Help_YIELD_RATE()
    DescribeFunction "CFX_YIELD_RATE", _
        "Fresh mushrooms from a mass of hydrated substrate.", _
        Array("Fresh mushrooms picked, all flushes. [kg, or lb with us, 0 or more]", _
        "Mass of the hydrated substrate that they grew on. [kg, or lb with us, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_EFFICIENCY_FROM_YIELD(yield_rate As Variant, moisture As Variant) As Variant
    CFX_EFFICIENCY_FROM_YIELD = AnswerOf("CFX_EFFICIENCY_FROM_YIELD", Array(yield_rate, moisture))
End Function

Private Sub Help_EFFICIENCY_FROM_YIELD()
    DescribeFunction "CFX_EFFICIENCY_FROM_YIELD", _
        "Biological efficiency from the yield on hydrated substrate.", _
        Array("Fresh mass over wet substrate. [fraction, 0 to 2]", _
        "Moisture of the substrate, wet basis. [fraction, 0 to below 1]")
End Sub

Public Function CFX_DRYING_RATIO(fresh_moisture As Variant, dried_moisture As Variant) As Variant
    CFX_DRYING_RATIO = AnswerOf("CFX_DRYING_RATIO", Array(fresh_moisture, dried_moisture))
End Function

Private Sub Help_DRYING_RATIO()
    DescribeFunction "CFX_DRYING_RATIO", _
        "Fresh mushrooms for one part of dried ones.", _
        Array("Moisture of the fresh mushrooms, wet basis. [fraction, 0 to below 1]", _
        "Moisture left in the dried ones, wet basis. [fraction, 0 to below 1]")
End Sub

Public Function CFX_DRIED_MASS(fresh_mass As Variant, fresh_moisture As Variant, dried_moisture As Variant, Optional units As Variant) As Variant
    CFX_DRIED_MASS = AnswerOf("CFX_DRIED_MASS", Array(fresh_mass, fresh_moisture, dried_moisture, units))
End Function

Private Sub Help_DRIED_MASS()
    DescribeFunction "CFX_DRIED_MASS", _
        "Dried mushrooms that a fresh mass gives.", _
        Array("Mass of fresh mushrooms. [kg, or lb with us, 0 or more]", _
        "Moisture of the fresh mushrooms, wet basis. [fraction, 0 to below 1]", _
        "Moisture left in the dried ones, wet basis. [fraction, 0 to below 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_HARVEST_PER_AREA(fresh_mass As Variant, area As Variant, days As Variant, Optional units As Variant) As Variant
    CFX_HARVEST_PER_AREA = AnswerOf("CFX_HARVEST_PER_AREA", Array(fresh_mass, area, days, units))
End Function

Private Sub Help_HARVEST_PER_AREA()
    DescribeFunction "CFX_HARVEST_PER_AREA", _
        "Fresh mushrooms that a growing area gives in a day.", _
        Array("Fresh mushrooms picked. [kg, or lb with us, 0 or more]", _
        "Floor or shelf area that was occupied. [m" & ChrW(178) & ", or ft" & ChrW(178) & " with us, above 0]", _
        "How long it was occupied. [d, above 0 to 3650]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SPENT_SUBSTRATE(dry_substrate_mass As Variant, fresh_mass As Variant, fresh_moisture As Variant, Optional dry_matter_loss As Variant, Optional units As Variant) As Variant
    CFX_SPENT_SUBSTRATE = AnswerOf("CFX_SPENT_SUBSTRATE", Array(dry_substrate_mass, fresh_mass, fresh_moisture, dry_matter_loss, units))
End Function

Private Sub Help_SPENT_SUBSTRATE()
    DescribeFunction "CFX_SPENT_SUBSTRATE", _
        "Dry mass of the spent substrate that is left once the mushrooms are picked.", _
        Array("Dry mass of the substrate before spawning. [kg, or lb with us, 0 or more]", _
        "Fresh mushrooms picked from it, all flushes. [kg, or lb with us, 0 or more]", _
        "Moisture of the fresh mushrooms, wet basis. [fraction, 0 to 1]", _
        "Share of the dry substrate that the colony breathes away as carbon dioxide and water. Assumption: measure yours. [fraction, 0 to below 1] 0.3 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_HARVEST_HEAT(mass As Variant, temperature As Variant, Optional units As Variant) As Variant
    CFX_HARVEST_HEAT = AnswerOf("CFX_HARVEST_HEAT", Array(mass, temperature, units))
End Function

Private Sub Help_HARVEST_HEAT()
    DescribeFunction "CFX_HARVEST_HEAT", _
        "Heat that picked oyster mushrooms give off by breathing.", _
        Array("Picked mushrooms in the room. [kg, or lb with us, 0 or more]", _
        "Temperature of the mushrooms. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 25]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_COLD_ROOM_POWER(mass As Variant, start_temperature As Variant, end_temperature As Variant, hours As Variant, moisture As Variant, Optional respiration_heat As Variant, Optional wall_heat_gain As Variant, Optional margin As Variant, Optional units As Variant) As Variant
    CFX_COLD_ROOM_POWER = AnswerOf("CFX_COLD_ROOM_POWER", Array(mass, start_temperature, end_temperature, hours, moisture, respiration_heat, wall_heat_gain, margin, units))
End Function

Private Sub Help_COLD_ROOM_POWER()
    DescribeFunction "CFX_COLD_ROOM_POWER", _
        "Cooling power that a cold room needs for picked mushrooms, without freezing them.", _
        Array("Mushrooms put in at one time. [kg, or lb with us, 0 or more]", _
        "Temperature that they come in with. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 45]", _
        "Temperature to cool them to. [" & ChrW(176) & "C, or " & ChrW(176) & "F with us, 0 to 20]", _
        "Time to cool them in. [h, above 0 to 240]", _
        "Moisture of the fresh mushrooms, wet basis. [fraction, 0 to 1]", _
        "The answer of HARVEST_HEAT, for all mushrooms in the room. [W, 0 or more] 0 if left out.", _
        "Heat that comes in through walls and door, and from fans and lights. [W, 0 or more] 0 if left out.", _
        "Share to add for safety, door openings and defrosting. [fraction, 0 to 2] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_STORAGE_LOSS(mass As Variant, days As Variant, daily_loss As Variant, Optional units As Variant) As Variant
    CFX_STORAGE_LOSS = AnswerOf("CFX_STORAGE_LOSS", Array(mass, days, daily_loss, units))
End Function

Private Sub Help_STORAGE_LOSS()
    DescribeFunction "CFX_STORAGE_LOSS", _
        "Mass that stored mushrooms lose, mostly as water.", _
        Array("Mushrooms put into storage. [kg, or lb with us, 0 or more]", _
        "How long they are stored. [d, 0 to 365]", _
        "Share of the remaining mass that is lost each day. [fraction, 0 to 0.5]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_LOSS_LOW(lost As Variant, total As Variant, Optional confidence As Variant, Optional dispersion As Variant) As Variant
    CFX_LOSS_LOW = AnswerOf("CFX_LOSS_LOW", Array(lost, total, confidence, dispersion))
End Function

Private Sub Help_LOSS_LOW()
    DescribeFunction "CFX_LOSS_LOW", _
        "Lowest loss rate that still fits what was counted: lower end of the Wilson interval.", _
        Array("Blocks lost. [count, 0 or more, whole]", _
        "Blocks started, the lost ones included. [count, 1 or more, whole]", _
        "Share of such intervals that hold the true rate. [fraction, 0.5 to below 1] 0.95 if left out.", _
        "How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if every block is lost or good on its own. [number, 1 or more] 1 if left out.")
End Sub

Public Function CFX_LOSS_HIGH(lost As Variant, total As Variant, Optional confidence As Variant, Optional dispersion As Variant) As Variant
    CFX_LOSS_HIGH = AnswerOf("CFX_LOSS_HIGH", Array(lost, total, confidence, dispersion))
End Function

Private Sub Help_LOSS_HIGH()
    DescribeFunction "CFX_LOSS_HIGH", _
        "Highest loss rate that still fits what was counted: upper end of the Wilson interval.", _
        Array("Blocks lost. [count, 0 or more, whole]", _
        "Blocks started, the lost ones included. [count, 1 or more, whole]", _
        "Share of such intervals that hold the true rate. [fraction, 0.5 to below 1] 0.95 if left out.", _
        "How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if every block is lost or good on its own. [number, 1 or more] 1 if left out.")
End Sub

Public Function CFX_LOSS_DIFFERENCE_LOW(lost_a As Variant, total_a As Variant, lost_b As Variant, total_b As Variant, Optional confidence As Variant, Optional dispersion As Variant) As Variant
    CFX_LOSS_DIFFERENCE_LOW = AnswerOf("CFX_LOSS_DIFFERENCE_LOW", Array(lost_a, total_a, lost_b, total_b, confidence, dispersion))
End Function

Private Sub Help_LOSS_DIFFERENCE_LOW()
    DescribeFunction "CFX_LOSS_DIFFERENCE_LOW", _
        "Lowest difference of two loss rates, a minus b, that still fits what was counted.", _
        Array("Blocks lost with a. [count, 0 or more, whole]", _
        "Blocks started with a. [count, 1 or more, whole]", _
        "Blocks lost with b. [count, 0 or more, whole]", _
        "Blocks started with b. [count, 1 or more, whole]", _
        "Share of such intervals that hold the true difference. [fraction, 0.5 to below 1] 0.95 if left out.", _
        "How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if every block is lost or good on its own. [number, 1 or more] 1 if left out.")
End Sub

Public Function CFX_LOSS_DIFFERENCE_HIGH(lost_a As Variant, total_a As Variant, lost_b As Variant, total_b As Variant, Optional confidence As Variant, Optional dispersion As Variant) As Variant
    CFX_LOSS_DIFFERENCE_HIGH = AnswerOf("CFX_LOSS_DIFFERENCE_HIGH", Array(lost_a, total_a, lost_b, total_b, confidence, dispersion))
End Function

Private Sub Help_LOSS_DIFFERENCE_HIGH()
    DescribeFunction "CFX_LOSS_DIFFERENCE_HIGH", _
        "Highest difference of two loss rates, a minus b, that still fits what was counted.", _
        Array("Blocks lost with a. [count, 0 or more, whole]", _
        "Blocks started with a. [count, 1 or more, whole]", _
        "Blocks lost with b. [count, 0 or more, whole]", _
        "Blocks started with b. [count, 1 or more, whole]", _
        "Share of such intervals that hold the true difference. [fraction, 0.5 to below 1] 0.95 if left out.", _
        "How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if every block is lost or good on its own. [number, 1 or more] 1 if left out.")
End Sub

Public Function CFX_BLOCKS_TO_START(good_blocks As Variant, loss_rate As Variant, Optional chance As Variant, Optional dispersion As Variant) As Variant
    CFX_BLOCKS_TO_START = AnswerOf("CFX_BLOCKS_TO_START", Array(good_blocks, loss_rate, chance, dispersion))
End Function

Private Sub Help_BLOCKS_TO_START()
    DescribeFunction "CFX_BLOCKS_TO_START", _
        "Blocks to start so that as many as wanted are good: on average, or as sure as you like.", _
        Array("Good blocks wanted. [count, 0 or more, whole]", _
        "Share of blocks lost so far. [fraction, 0 to below 1]", _
        "Chance wanted of having enough good blocks; 50 % is the average. [fraction, 0.5 to 0.999] 0.5 if left out.", _
        "How much more the losses of batches vary than luck makes them vary, from DISPERSION; 1 for luck alone. [number, 1 or more] 1 if left out.")
End Sub

Public Function CFX_BLOCKS_FOR_CONFIDENCE(good_blocks As Variant, loss_rate As Variant, confidence As Variant) As Variant
    CFX_BLOCKS_FOR_CONFIDENCE = AnswerOf("CFX_BLOCKS_FOR_CONFIDENCE", Array(good_blocks, loss_rate, confidence))
End Function

Private Sub Help_BLOCKS_FOR_CONFIDENCE()
    DescribeFunction "CFX_BLOCKS_FOR_CONFIDENCE", _
        "Blocks to start so that enough are good with a given confidence.", _
        Array("Good blocks wanted. [count, 1 to 1000, whole]", _
        "Chance of each block, on its own, to be lost. [fraction, 0 to 0.5]", _
        "Chance wanted of having enough good blocks. [fraction, 0.5 to 0.999]")
End Sub

Public Function CFX_TRIAL_BLOCKS(loss_a As Variant, loss_b As Variant, Optional confidence As Variant, Optional power As Variant, Optional dispersion As Variant) As Variant
    CFX_TRIAL_BLOCKS = AnswerOf("CFX_TRIAL_BLOCKS", Array(loss_a, loss_b, confidence, power, dispersion))
End Function

Private Sub Help_TRIAL_BLOCKS()
    DescribeFunction "CFX_TRIAL_BLOCKS", _
        "Blocks that each side of a trial needs to tell two loss rates apart.", _
        Array("Loss rate expected with a. [fraction, 0 to 1]", _
        "Loss rate expected with b. [fraction, 0 to 1]", _
        "Chance of finding no difference where there is none. [fraction, 0.5 to below 1] 0.95 if left out.", _
        "Chance of finding the difference where there is one. [fraction, 0.5 to below 1] 0.8 if left out.", _
        "How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if every block is lost or good on its own. [number, 1 or more] 1 if left out.")
End Sub

Public Function CFX_WELCH_P_VALUE(values_a As Variant, values_b As Variant) As Variant
    CFX_WELCH_P_VALUE = AnswerOf("CFX_WELCH_P_VALUE", Array(values_a, values_b))
End Function

Private Sub Help_WELCH_P_VALUE()
    DescribeFunction "CFX_WELCH_P_VALUE", _
        "Chance that two means lie this far apart by luck alone: p-value of Welch's t-test.", _
        Array("A value of each block or batch with a, two or more. [number] A range.", _
        "A value of each block or batch with b, two or more. [number] A range.")
End Sub

Public Function CFX_BLOCKS_TO_INSPECT(share As Variant, confidence As Variant, Optional lot_size As Variant) As Variant
    CFX_BLOCKS_TO_INSPECT = AnswerOf("CFX_BLOCKS_TO_INSPECT", Array(share, confidence, lot_size))
End Function

Private Sub Help_BLOCKS_TO_INSPECT()
    DescribeFunction "CFX_BLOCKS_TO_INSPECT", _
        "Blocks to inspect, to find at least one faulty block if a share of them is faulty.", _
        Array("Share of faulty blocks that must not go unseen. [fraction, 0.0001 to below 1]", _
        "Chance wanted of seeing at least one of them. [fraction, 0.5 to 0.999]", _
        "Blocks in the lot; 0 for very many. [count, 0 to 10000, whole] 0 if left out.")
End Sub

Public Function CFX_DISPERSION(lost As Variant, totals As Variant) As Variant
    CFX_DISPERSION = AnswerOf("CFX_DISPERSION", Array(lost, totals))
End Function

Private Sub Help_DISPERSION()
    DescribeFunction "CFX_DISPERSION", _
        "How much more the losses of batches vary than luck alone would make them vary.", _
        Array("Blocks lost in each batch. [count, 0 or more] A range.", _
        "Blocks started in each batch, the lost ones included; a batch of 0 is skipped. [count, 0 or more] A range.")
End Sub

Public Function CFX_DESIGN_EFFECT(lost As Variant, totals As Variant) As Variant
    CFX_DESIGN_EFFECT = AnswerOf("CFX_DESIGN_EFFECT", Array(lost, totals))
End Function

Private Sub Help_DESIGN_EFFECT()
    DescribeFunction "CFX_DESIGN_EFFECT", _
        "Blocks in these batches that say as much about losses as one block on its own.", _
        Array("Blocks lost in each batch. [count, 0 or more] A range.", _
        "Blocks started in each batch, the lost ones included; a batch of 0 is skipped. [count, 0 or more] A range.")
End Sub

Public Function CFX_CREDIBILITY(batches As Variant, weight As Variant) As Variant
    CFX_CREDIBILITY = AnswerOf("CFX_CREDIBILITY", Array(batches, weight))
End Function

Private Sub Help_CREDIBILITY()
    DescribeFunction "CFX_CREDIBILITY", _
        "How much your own records count beside the plan: 0 without batches, near 1 with many.", _
        Array("Batches behind the own figure. [count, 0 or more]", _
        "How many batches the plan is worth: with as many of your own, each counts half. [count, above 0]")
End Sub

Public Function CFX_BLENDED(own As Variant, plan As Variant, batches As Variant, weight As Variant) As Variant
    CFX_BLENDED = AnswerOf("CFX_BLENDED", Array(own, plan, batches, weight))
End Function

Private Sub Help_BLENDED()
    DescribeFunction "CFX_BLENDED", _
        "Figure to expect: your own and the planned one, weighted by how many batches you have.", _
        Array("Figure from your own batches; may be blank while there are 0 batches. [number]", _
        "Planned figure, in the same unit. [number]", _
        "Batches behind the own figure. [count, 0 or more]", _
        "How many batches the plan is worth: with as many of your own, each counts half. [count, above 0]")
End Sub

Public Function CFX_LOOK_CONFIDENCE(confidence As Variant, looks As Variant) As Variant
    CFX_LOOK_CONFIDENCE = AnswerOf("CFX_LOOK_CONFIDENCE", Array(confidence, looks))
End Function

Private Sub Help_LOOK_CONFIDENCE()
    DescribeFunction "CFX_LOOK_CONFIDENCE", _
        "Confidence to ask for at each look at a trial that is looked at several times.", _
        Array("Chance of finding no difference at any look, where there is none. [fraction, 0.5 to below 1]", _
        "Looks planned before the trial begins, spread evenly over it. [count, 1 to 5, whole]")
End Sub

Public Function CFX_COST_PER_POUND(cost As Variant, pounds As Variant) As Variant
    CFX_COST_PER_POUND = AnswerOf("CFX_COST_PER_POUND", Array(cost, pounds))
End Function

Private Sub Help_COST_PER_POUND()
    DescribeFunction "CFX_COST_PER_POUND", _
        "Cost of one pound.", _
        Array("Total cost. [money, 0 or more]", _
        "Pounds that the cost is for. [lb, above 0]")
End Sub

Public Function CFX_COST_PER_KILOGRAM(cost As Variant, kilograms As Variant) As Variant
    CFX_COST_PER_KILOGRAM = AnswerOf("CFX_COST_PER_KILOGRAM", Array(cost, kilograms))
End Function

Private Sub Help_COST_PER_KILOGRAM()
    DescribeFunction "CFX_COST_PER_KILOGRAM", _
        "Cost of one kilogram.", _
        Array("Total cost. [money, 0 or more]", _
        "Kilograms that the cost is for. [kg only, above 0]")
End Sub

Public Function CFX_COST_AFTER_LOSSES(cost As Variant, loss_rate As Variant) As Variant
    CFX_COST_AFTER_LOSSES = AnswerOf("CFX_COST_AFTER_LOSSES", Array(cost, loss_rate))
End Function

Private Sub Help_COST_AFTER_LOSSES()
    DescribeFunction "CFX_COST_AFTER_LOSSES", _
        "Cost of a good block, once the lost ones are paid for too.", _
        Array("Cost of a block made. [money, 0 or more]", _
        "Share of the blocks that is lost. [fraction, 0 to below 1]")
End Sub

Public Function CFX_PRICE_FOR_MARGIN(cost As Variant, margin As Variant) As Variant
    CFX_PRICE_FOR_MARGIN = AnswerOf("CFX_PRICE_FOR_MARGIN", Array(cost, margin))
End Function

Private Sub Help_PRICE_FOR_MARGIN()
    DescribeFunction "CFX_PRICE_FOR_MARGIN", _
        "Price that leaves a margin.", _
        Array("Cost of what is sold. [money, 0 or more]", _
        "Profit as a share of the price. [fraction, 0 to below 1]")
End Sub

Public Function CFX_PRICE_FOR_MARKUP(cost As Variant, markup As Variant) As Variant
    CFX_PRICE_FOR_MARKUP = AnswerOf("CFX_PRICE_FOR_MARKUP", Array(cost, markup))
End Function

Private Sub Help_PRICE_FOR_MARKUP()
    DescribeFunction "CFX_PRICE_FOR_MARKUP", _
        "Price with a markup on the cost.", _
        Array("Cost of what is sold. [money, 0 or more]", _
        "Profit as a share of the cost, may be more than 100 %. [fraction, 0 to 20]")
End Sub

Public Function CFX_MARGIN(price As Variant, cost As Variant) As Variant
    CFX_MARGIN = AnswerOf("CFX_MARGIN", Array(price, cost))
End Function

Private Sub Help_MARGIN()
    DescribeFunction "CFX_MARGIN", _
        "Margin: profit as a share of the price.", _
        Array("Price received. [money, above 0]", _
        "Cost of what is sold. [money, 0 or more]")
End Sub

Public Function CFX_MARKUP(price As Variant, cost As Variant) As Variant
    CFX_MARKUP = AnswerOf("CFX_MARKUP", Array(price, cost))
End Function

Private Sub Help_MARKUP()
    DescribeFunction "CFX_MARKUP", _
        "Markup: profit as a share of the cost.", _
        Array("Price received. [money, 0 or more]", _
        "Cost of what is sold. [money, above 0]")
End Sub

Public Function CFX_BREAK_EVEN(fixed_cost As Variant, price As Variant, variable_cost As Variant) As Variant
    CFX_BREAK_EVEN = AnswerOf("CFX_BREAK_EVEN", Array(fixed_cost, price, variable_cost))
End Function

Private Sub Help_BREAK_EVEN()
    DescribeFunction "CFX_BREAK_EVEN", _
        "Units to sell before the fixed costs are paid.", _
        Array("Costs of the period that no sale changes. [money, 0 or more]", _
        "Price of a unit sold. [money, 0 or more]", _
        "Variable cost of a unit: what each one more costs. [money, 0 or more]")
End Sub

Public Function CFX_YEARLY_DEPRECIATION(cost As Variant, salvage As Variant, years As Variant, Optional units As Variant) As Variant
    CFX_YEARLY_DEPRECIATION = AnswerOf("CFX_YEARLY_DEPRECIATION", Array(cost, salvage, years, units))
End Function

Private Sub Help_YEARLY_DEPRECIATION()
    DescribeFunction "CFX_YEARLY_DEPRECIATION", _
        "Straight-line depreciation of equipment in a year.", _
        Array("What the equipment costs, ready for use. [money, 0 or more]", _
        "Salvage value: what it sells for at the end. [money, 0 or more]", _
        "How long it is used. [a, above 0 to 100]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_LABOR_COST(minutes As Variant, hourly_wage As Variant, Optional burden As Variant, Optional units As Variant) As Variant
    CFX_LABOR_COST = AnswerOf("CFX_LABOR_COST", Array(minutes, hourly_wage, burden, units))
End Function

Private Sub Help_LABOR_COST()
    DescribeFunction "CFX_LABOR_COST", _
        "Cost of working time.", _
        Array("Working time. [min, 0 or more]", _
        "Wage for an hour. [money, 0 or more]", _
        "Share of the wage that taxes, insurance and benefits add to it. [fraction, 0 to 2] 0 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_PAYBACK_YEARS(investment As Variant, yearly_net As Variant, Optional units As Variant) As Variant
    CFX_PAYBACK_YEARS = AnswerOf("CFX_PAYBACK_YEARS", Array(investment, yearly_net, units))
End Function

Private Sub Help_PAYBACK_YEARS()
    DescribeFunction "CFX_PAYBACK_YEARS", _
        "Years until an investment has paid for itself, without interest.", _
        Array("What it costs. [money, 0 or more]", _
        "What it saves or earns in a year, after its own costs. [money, above 0]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BLOCKS_FOR_DEMAND(demand As Variant, yield_per_block As Variant, loss_rate As Variant, Optional units As Variant) As Variant
    CFX_BLOCKS_FOR_DEMAND = AnswerOf("CFX_BLOCKS_FOR_DEMAND", Array(demand, yield_per_block, loss_rate, units))
End Function

Private Sub Help_BLOCKS_FOR_DEMAND()
    DescribeFunction "CFX_BLOCKS_FOR_DEMAND", _
        "Blocks to make so that the harvest meets a demand.", _
        Array("Fresh mushrooms wanted. [kg, or lb with us, 0 or more]", _
        "Fresh mushrooms from one good block, all flushes. [kg, or lb with us, 0.001 to 100]", _
        "Share of the blocks that is lost. [fraction, 0 to below 1]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BLOCKS_IN_PROGRESS(blocks_per_week As Variant, days As Variant, Optional units As Variant) As Variant
    CFX_BLOCKS_IN_PROGRESS = AnswerOf("CFX_BLOCKS_IN_PROGRESS", Array(blocks_per_week, days, units))
End Function

Private Sub Help_BLOCKS_IN_PROGRESS()
    DescribeFunction "CFX_BLOCKS_IN_PROGRESS", _
        "Blocks that are in a stage at the same time, when as many enter every week.", _
        Array("Blocks that enter the stage in a week. [count, 0 or more]", _
        "How long a block stays in it. [d, 0 to 3650]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_SHELF_SPACES(shelf_length As Variant, shelf_depth As Variant, block_length As Variant, block_depth As Variant, Optional gap As Variant, Optional shelves As Variant, Optional units As Variant) As Variant
    CFX_SHELF_SPACES = AnswerOf("CFX_SHELF_SPACES", Array(shelf_length, shelf_depth, block_length, block_depth, gap, shelves, units))
End Function

Private Sub Help_SHELF_SPACES()
    DescribeFunction "CFX_SHELF_SPACES", _
        "Shelf spaces for blocks, with a gap between blocks and none at the ends.", _
        Array("Length of a shelf. [m, or ft with us, 0 to 100]", _
        "Depth of a shelf. [m, or ft with us, 0 to 5]", _
        "Side of the block along the shelf. [cm, or in with us, 1 to 150]", _
        "Side of the block across the shelf. [cm, or in with us, 1 to 150]", _
        "Free space between two blocks. Assumption: measure yours. [cm, or in with us, 0 to 100] 5 if left out.", _
        "How many such shelves there are. [count, 0 or more, whole] 1 if left out.", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_BLOCKS_PER_WEEK(places As Variant, days As Variant, Optional units As Variant) As Variant
    CFX_BLOCKS_PER_WEEK = AnswerOf("CFX_BLOCKS_PER_WEEK", Array(places, days, units))
End Function

Private Sub Help_BLOCKS_PER_WEEK()
    DescribeFunction "CFX_BLOCKS_PER_WEEK", _
        "Blocks that can enter a stage in a week without its shelf spaces running out.", _
        Array("Shelf spaces of the stage. [count, 0 or more]", _
        "How long a block keeps its space. [d, above 0 to 3650]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_START_DATE(sale_date As Variant, days As Variant, Optional units As Variant) As Variant
    CFX_START_DATE = AnswerOf("CFX_START_DATE", Array(sale_date, days, units))
End Function

Private Sub Help_START_DATE()
    DescribeFunction "CFX_START_DATE", _
        "Day to start on, so that the harvest is ready on the day of sale.", _
        Array("Day of sale, a date cell or a text such as ""2026-03-14"". [date, 61 to 109574]", _
        "Days from the start to the sale. [d, 0 to 3650]", _
        """metric"" (as it is if left out) or ""us"".")
End Sub

Public Function CFX_CONVERT_UNITS(quantity As Variant, unit As Variant) As Variant
    CFX_CONVERT_UNITS = AnswerOf("CFX_CONVERT_UNITS", Array(quantity, unit))
End Function

Private Sub Help_CONVERT_UNITS()
    DescribeFunction "CFX_CONVERT_UNITS", _
        "Quantity in another unit.", _
        Array("One number and one unit, such as ""200 lb"". [text]", _
        "The unit wanted, such as ""kg"". [text]")
End Sub

Public Function CFX_WHY(function_name As Variant, ParamArray arguments() As Variant) As Variant
    Dim given() As Variant, place As Long
    ReDim given(0 To UBound(arguments) + 1)
    If IsObject(function_name) Then Set given(0) = function_name Else given(0) = function_name
    For place = 0 To UBound(arguments)
        If IsObject(arguments(place)) Then
            Set given(place + 1) = arguments(place)
        Else
            given(place + 1) = arguments(place)
        End If
    Next place
    CFX_WHY = ReasonOf(AnswerOf("CFX_WHY", given))
End Function

Private Sub Help_WHY()
    DescribeFunction "CFX_WHY", _
        "Sentence that says why a call has no answer.", _
        Array("Name of the function, such as ""WATER_TO_ADD"". [text]", _
        "Its arguments, in order.")
End Sub

Public Function CFX_HARVEST_SUMMARY(batches As Variant, harvests As Variant, by As Variant, Optional dispersion As Variant) As Variant
    CFX_HARVEST_SUMMARY = AnswerOf("CFX_HARVEST_SUMMARY", Array(batches, harvests, by, dispersion))
End Function

Private Sub Help_HARVEST_SUMMARY()
    DescribeFunction "CFX_HARVEST_SUMMARY", _
        "Losses and yields of all batches of each strain, recipe, room or month.", _
        Array("A row a batch, headings first: Batch, Made, Blocks, Lost, Dry substrate, and Strain, Recipe or Room.", _
        "A row a harvest, headings first: Batch, Date, Fresh mass.", _
        "What to sum up by: strain, recipe, room or month.", _
        "How much more the losses of batches vary than luck alone would make them vary, for a group of fewer than 7 batches: 1 or more; 2.5 if left out, an assumption. Measure yours: DISPERSION.")
End Sub
