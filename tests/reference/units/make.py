"""Makes factors.csv and conversions.csv with the general-purpose Python library Pint.

Run once:  pip install pint==0.25.3 && python make.py
Decimals of 60 digits are used throughout, so the expected values are good to the 20 digits written.
The units of the language are translated word by word into Pint's names; the translation is the
only thing the two share. Pieces, money and hardness scales are unknown to Pint and are defined
here as dimensions of their own, as the language has them.
"""

import re
from decimal import Decimal, getcontext
from pathlib import Path

import pint

getcontext().prec = 60
units = pint.UnitRegistry(non_int_type=Decimal)
for line in ("piece = [pieces]", "money = [money]", "ShoreA = [hardness_a]", "ShoreD = [hardness_d]"):
    units.define(line)

# The language's word, and Pint's name of the same unit.
WORDS = {
    "m": "meter", "mm": "millimeter", "cm": "centimeter", "µm": "micrometer", "nm": "nanometer",
    "km": "kilometer", "in": "inch", "ft": "foot", "yd": "yard", "mil": "thou",
    "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "d": "day",
    "kg": "kilogram", "g": "gram", "mg": "milligram", "t": "metric_ton", "lb": "pound", "oz": "ounce",
    "°C": "degC", "°F": "degF", "K": "kelvin", "Δ°C": "delta_degC", "Δ°F": "delta_degF",
    "N": "newton", "mN": "millinewton", "kN": "kilonewton", "lbf": "force_pound", "kgf": "force_kilogram",
    "Pa": "pascal", "mPa": "millipascal", "kPa": "kilopascal", "MPa": "megapascal", "bar": "bar",
    "mbar": "millibar", "psi": "psi",
    "J": "joule", "mJ": "millijoule", "kJ": "kilojoule", "MJ": "megajoule", "Wh": "watt_hour",
    "kWh": "kilowatt_hour", "cal": "calorie", "kcal": "kilocalorie",
    "Btu": "international_british_thermal_unit",
    "W": "watt", "mW": "milliwatt", "kW": "kilowatt",
    "L": "liter", "mL": "milliliter", "gal": "US_liquid_gallon", "floz": "US_fluid_ounce",
    "P": "poise", "cP": "centipoise", "Hz": "hertz", "mol": "mole", "°": "degree", "%": "percent",
    "pieces": "piece", "piece": "piece", "money": "money", "ShoreA": "ShoreA", "ShoreD": "ShoreD",
}

BASE_OF = {
    "m³": "L mL gal floz", "m": "m mm cm µm nm km in ft yd mil", "s": "s ms min h d",
    "kg": "kg g mg t lb oz", "K": "°C °F K Δ°C Δ°F", "N": "N mN kN lbf kgf",
    "Pa": "Pa mPa kPa MPa bar mbar psi", "J": "J mJ kJ MJ Wh kWh cal kcal Btu", "W": "W mW kW",
    "Pa·s": "P cP", "Hz": "Hz", "mol": "mol", "°": "°", "": "%", "pieces": "pieces",
    "money": "money", "ShoreA": "ShoreA", "ShoreD": "ShoreD",
}


def pint_name(text):
    """The language's unit as Pint writes it."""
    compound = re.search(r"[/·²³^]", text)

    def word(found):
        word = found.group(0)
        if compound and word in ("°C", "°F"):
            word = "Δ" + word
        return WORDS[word]

    text = re.sub(r"[^/·()²³^0-9\-]+", word, text)
    text = text.replace("²", "**2").replace("³", "**3").replace("·", "*")
    return "1" + text if text.startswith("/") else text or "dimensionless"


def convert(value, source, target):
    quantity = units.Quantity(Decimal(value), units.Unit(pint_name(source)) if "1/" not in pint_name(source)
                              else units.parse_units(pint_name(source)))
    return quantity.to(units.parse_units(pint_name(target))).magnitude


def text(number):
    """20 significant digits, plain enough for a reader of decimals."""
    number = Decimal(number)
    if number == 0:
        return "0"
    rounded = f"{number:.19e}"
    digits, power = rounded.split("e")
    digits = digits.rstrip("0").rstrip(".") if "." in digits else digits
    return digits if int(power) == 0 else f"{digits}e{int(power)}"


HEAD = f"# Made by make.py with Pint {pint.__version__} (Python), decimals of 60 digits; written to 20 digits.\n"

CONVERSIONS = """
320 °F °C | 280 °F °C | 305 °F °C | 120 °F °C | -40 °F °C | 32 °F °C | 212 °F °C | 0 °F °C | -459.67 °F °C | 71 °F °C
160 °C °F | 20 °C °F | -40 °C °F | 100 °C °F | 350 °C °F | 37.5 °C °F | -273.15 °C °F
10 Δ°F K | 10 Δ°F Δ°C | 18 Δ°F K | 5 K Δ°F | 5 Δ°C Δ°F | 0.1 Δ°C Δ°F | 1 Δ°C K | 2.5 K Δ°C
80 /in /cm | 110 /in /cm | 156 /in /cm | 200 /in /cm | 54 /cm /in | 43 /cm /in | 77 /cm /in | 120 /cm /in | 1 /mm /in | 230 /in /m
1 in mm | 14 in cm | 0.004 in µm | 1 mil µm | 2.5 mil µm | 64 µm mil | 22 µm mm | 400 nm µm | 8 ft m | 2.44 m ft | 3 yd m | 1 km ft | 1.5 mm in | 25.4 mm in | 30.48 cm ft
1 h s | 90 s min | 48 s min | 1 d h | 250 ms s | 2.5 min s | 7.5 h min
1 lb g | 16 oz g | 5.3 oz g | 180 g oz | 2.2 kg lb | 1 t lb | 350 mg oz | 1 oz lb | 453.59237 g lb
2.1 m/min ft/min | 7 ft/min m/min | 3 m/min mm/s | 20 in/s m/min | 6 m/min cm/s | 1 km/h m/s | 0.05 m/min in/min | 100 ft/min m/s
6 oz/yd² g/m² | 5.3 oz/yd² g/m² | 180 g/m² oz/yd² | 150 g/m² kg/m² | 1 lb/ft² g/m² | 9.5 oz/yd² kg/m² | 0.01 g/cm² g/m²
24 N/cm lbf/in | 24 N/cm N/m | 30 N/cm kgf/cm | 1 lbf/in N/cm | 2 kgf/cm N/cm | 15 lbf/ft N/m | 1800 mN/mm N/cm
1.32 g/cm³ lb/gal | 11 lb/gal g/cm³ | 1.2 g/mL kg/m³ | 62.4 lb/ft³ kg/m³ | 1320 kg/m³ g/cm³ | 1 oz/gal g/L | 1.05 kg/L lb/gal | 1 oz/in³ g/cm³
1 gal L | 1 floz mL | 3.785411784 L gal | 500 mL floz | 5 gal mL | 231 in³ gal | 1 ft³ L | 1 gal floz | 250 cm³ mL
30 cm³/m² mL/m² | 45 cm³/m² µm | 1 mil cm³/m² | 1.5 floz/yd² cm³/m² | 22 µm cm³/m²
1 W/(m²·K) Btu/(h·ft²·Δ°F) | 25 W/(m²·K) Btu/(h·ft²·Δ°F) | 1 Btu/(h·ft²·Δ°F) W/(m²·K) | 4.4 Btu/(h·ft²·°F) W/(m²·°C)
0.04 W/(m·K) Btu/(h·ft·Δ°F) | 1 Btu·in/(h·ft²·Δ°F) W/(m·K) | 0.1 W/(m·K) mW/(cm·K)
1.4e4 W/m² kW/m² | 10 W/in² kW/m² | 1 Btu/(h·ft²) W/m² | 20 kW/m² W/in²
1340 J/(kg·K) Btu/(lb·Δ°F) | 1 Btu/(lb·Δ°F) J/(kg·K) | 1 cal/(g·K) kJ/(kg·K) | 0.3 Btu/(lb·°F) kJ/(kg·K)
2257 kJ/kg Btu/lb | 1 Btu/lb J/kg | 970 Btu/lb kJ/kg | 540 cal/g kJ/kg
85 kJ/mol J/mol | 20 kcal/mol kJ/mol | 0.155 m²·K/W ft²·h·Δ°F/Btu | 1 ft²·h·Δ°F/Btu m²·K/W
1 lbf N | 1 kgf N | 10 N lbf | 2.5 kN lbf | 1 kgf lbf
40 psi bar | 1 bar psi | 600 kPa psi | 1 mbar Pa | 0.3 MPa N/mm² | 1 psi kPa | 1 lbf/in² psi | 1 N/cm² kPa
1 Btu J | 1 kWh Btu | 1 kWh MJ | 1 cal J | 5 Wh kJ | 100 kJ Btu | 1 kcal Btu | 12 J/cm² kJ/m² | 1 lbf·ft J
12 kW Btu/h | 30000 Btu/h kW | 500 W Btu/h | 1 kW kcal/h | 1 N·m/s W
50000 cP Pa·s | 1 P Pa·s | 250 P cP | 1 cP mPa·s | 80 Pa·s P | 1 lb/(ft·s) Pa·s | 1 lbf·s/in² Pa·s
600 pieces/h pieces/min | 10 pieces/min pieces/h | 7 g/piece oz/piece | 0.25 oz/piece g/piece | 5 pieces/s pieces/h
18 money/kg money/lb | 40 money/gal money/L | 0.35 money/piece money/piece | 9 money/lb money/kg
1 Hz /min | 30 /min Hz | 2 K/s K/min | 36 Δ°F/min K/s | 5 °C/s °F/min | 1 m/s² ft/s² | 100 g/(m²·h) oz/(yd²·h)
5 % % | 22.5 ° ° | 65 ShoreA ShoreA | 50 ShoreD ShoreD | 144 in² cm² | 1 yd² m² | 300 cm² in² | 12 ft² m²
"""


def main():
    folder = Path(__file__).parent
    with open(folder / "factors.csv", "w", encoding="utf-8") as out:
        out.write(HEAD + "# One of the unit in its base unit; for °C and °F what zero is in kelvin, in the last column.\n")
        out.write("unit,base,factor,zero\n")
        for base, words in BASE_OF.items():
            for word in words.split():
                point = word in ("°C", "°F")
                zero = convert(0, word, base) if point else Decimal(0)
                out.write(f"{word},{base},{text(convert(1, word, base) - zero)},{text(zero)}\n")
    rows = [row.split() for line in CONVERSIONS.strip().splitlines() for row in line.split("|")]
    with open(folder / "conversions.csv", "w", encoding="utf-8") as out:
        out.write(HEAD + "value,from,to,expected\n")
        for value, source, target in rows:
            out.write(f"{value},{source},{target},{text(convert(value, source, target))}\n")
    print(len(rows))


main()
