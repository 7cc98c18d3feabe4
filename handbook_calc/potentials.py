"""Potential of the piece against a reference electrode, and the line below which iron cannot rust."""

from math import exp, log

from handbook_calc.engine import data
from handbook_calc.engine.calculation import Number, Verdict, calculation
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import MEASURED, Choice, Quantity

STAGE = "electrolysis"
FARADAY = 96485.33212  # C/mol
GAS_CONSTANT = 8.314462618  # J/mol/K
ZERO_CELSIUS = 273.15  # K
ROOM = 25.0  # degC, of the formation energies
# 3 Fe + 4 H2O = Fe3O4 + 4 H2, eight electrons against the hydrogen electrode.
MAGNETITE_ENERGY = -1_015_400 + 4 * 237_130  # J/mol
MAGNETITE_ENTROPY = 146.4 + 4 * 130.68 - 3 * 27.28 - 4 * 69.91  # J/mol/K
ELECTRONS = 8
# How well a bench reads: the electrode, its junction and the drop in the bath on the way to the piece.
READING_ERROR = 30.0  # mV

ELECTRODES = data.column("electrodes", "electrode")
ELECTRODE_POTENTIALS = data.numbers("electrodes", "potential")


def electrode_name(written: str) -> str:
    """Return an electrode's name in the table for a common spelling."""
    plain = " ".join(written.lower().replace("sulfate", "sulphate").split())
    return {
        "she": "standard hydrogen",
        "hydrogen": "standard hydrogen",
        "silver chloride": "silver chloride saturated",
        "silver-silver chloride": "silver chloride saturated",
        "ag/agcl": "silver chloride saturated",
        "calomel": "calomel saturated",
        "sce": "calomel saturated",
        "mercury sulphate": "mercury sulphate saturated",
    }.get(plain, plain)


def electrode_potential_on_hydrogen(electrode):
    """Return the potential [mV] of a reference electrode on the hydrogen scale at 25 degC."""
    potential = 0
    for i in range(len(ELECTRODES)):
        if ELECTRODES[i] == electrode:
            potential = ELECTRODE_POTENTIALS[i]
    return potential


def electrode(name, about, example="silver chloride saturated"):
    """Declare the choice of a reference electrode."""
    return Choice(name, about, options=ELECTRODES, normal=electrode_name, kind="reference electrode",
                  example=example)  # fmt: skip


@calculation(
    "electrode-potential",
    title="A potential read on one scale, on another",
    inputs=(
        Quantity("reading", "potential of the piece against the electrode, with its sign", unit="mV",
                 low=-3000, high=3000, why="beyond that the meter reads the cell", example="-900 mV",
                 of_piece=MEASURED),
        electrode("electrode", "electrode that it was read against"),
        electrode("scale", "electrode whose scale is wanted", "standard hydrogen"),
    ),
    results=Number("potential", "mV", "the same potential on the wanted scale", 4),
    assumes=(
        "25 °C and saturated fillings; at 15 °C silver chloride and calomel stand 5 to 10 mV higher",
        "the red lead of the meter is on the piece, the black one on the electrode",
        "printed values differ by 2 to 3 mV for silver chloride and calomel, by 18 for mercury sulphate",
    ),
    sources=("reference-electrodes-2010", "electrode-handbooks", "hydrogen-scale"),
)  # fmt: skip
def electrode_potential(reading, electrode, scale):
    """Reading plus the electrode's own potential, less that of the wanted one."""
    own = electrode_potential_on_hydrogen(electrode)
    wanted = electrode_potential_on_hydrogen(scale)
    return reading + own - wanted


def nernst(temperature):
    """Return the change of potential [mV] with one unit of pH at [degC]."""
    return 1000 * GAS_CONSTANT * (temperature + ZERO_CELSIUS) * log(10) / FARADAY


@calculation(
    "iron-line",
    curve="ph",
    title="Potential below which iron is immune",
    inputs=(
        Quantity("ph", "pH of the bath", low=7, high=14.5, why="acid baths have another balance",
                 example="11.5"),
        from_house("electrolysis.temperature", low=0, high=60,
                   because="the formation energies are brought from 25 °C by a straight line"),
    ),
    results=(
        Number("potential", "mV", "of iron against magnetite, on the hydrogen scale", 4),
        Number("hydrogen", "mV", "below which the piece gives off hydrogen", 4),
        Number("gap", "mV", "how far the first lies below the second", 2),
    ),
    assumes=(
        "hydrogen scale; an electrode's reading is put on it by the calculation of potentials",
        "pure iron in equilibrium with magnetite and water without chloride; nickel-iron and rust with "
        "chloride in it were not measured",
        "in strong alkali iron dissolves a little near the same potential, as an ion of its own",
        "above the line iron is at best passive: a skin of oxide guards it, and chloride breaks that skin",
        "that line always lies below that of hydrogen: who makes iron immune makes hydrogen",
    ),
    sources=("formation-energies-iron", "pourbaix-1966", "si-constants"),
)  # fmt: skip
def iron_line(ph, temperature):
    """Energy of reaction over charge, less the slope of the hydrogen electrode with pH."""
    energy = MAGNETITE_ENERGY - MAGNETITE_ENTROPY * (temperature - ROOM)
    hydrogen = -nernst(temperature) * ph
    potential = hydrogen + 1000 * energy / (ELECTRONS * FARADAY)
    gap = hydrogen - potential
    return {"potential": potential, "hydrogen": hydrogen, "gap": gap}


@calculation(
    "potential-verdict",
    title="What a reading of the piece's potential means",
    inputs=(
        Quantity("reading", "potential of the piece against the electrode, with its sign", unit="mV",
                 low=-3000, high=3000, why="beyond that the meter reads the cell", example="-900 mV",
                 of_piece=MEASURED),
        electrode("electrode", "electrode that it was read against"),
        Quantity("ph", "pH of the bath", low=7, high=14.5, why="acid baths have another balance",
                 example="11.5"),
        from_house("electrolysis.temperature", low=0, high=60,
                   because="the formation energies are brought from 25 °C by a straight line"),
    ),
    results=(
        Verdict("verdict", "state of the metal", stops=(), words={
            "immune": "At {potential} the metal lies below the line of iron and magnetite ({iron}): it "
            "cannot dissolve, and it gives off hydrogen.",
            "hydrogen, not immune": "At {potential} the piece gives off hydrogen and still lies above the "
            "line of iron and magnetite ({iron}), or within the error of a reading: not shown to be immune.",
            "not protected by the current": "At {potential} the piece lies above both lines ({iron} for "
            "iron): the current holds nothing down. Only the alkali keeps the metal, while chloride is low.",
        }),
        Number("potential", "mV", "of the piece, on the hydrogen scale", 4),
        Number("iron", "mV", "line of iron against magnetite", 4),
        Number("hydrogen", "mV", "line of hydrogen", 4),
    ),
    assumes=(
        "a reading errs by some 30 mV: electrode, junction, and the drop in the bath on the way to the piece",
        "the tip stands within a few millimetres of the piece, on the side away from the plates as well",
        "what is read is the outside of the piece; the bottom of a crack lies higher",
    ),
    sources=("formation-energies-iron", "reference-electrodes-2010", "electrode-handbooks"),
)  # fmt: skip
def potential_verdict(reading, electrode, ph, temperature):
    """The reading on the hydrogen scale against both lines."""
    potential = reading + electrode_potential_on_hydrogen(electrode)
    lines = iron_line(ph, temperature)
    iron = lines["potential"]
    hydrogen = lines["hydrogen"]
    verdict = "not protected by the current"
    if potential < hydrogen:
        verdict = "hydrogen, not immune"
    if potential <= iron - READING_ERROR:
        verdict = "immune"
    return {"verdict": verdict, "potential": potential, "iron": iron, "hydrogen": hydrogen}


OXYGEN_DIFFUSIVITY = 2.1e-9  # m2/s in water at 25 degC
OXYGEN_ENERGY = 18_000  # J/mol, of its diffusion
OXYGEN_MASS = 31.998  # g/mol


def dissolved_oxygen(temperature):
    """Return oxygen [mg/L] in fresh water under air of one atmosphere at [degC], within one per cent."""
    return 14.62 - 0.3898 * temperature + 0.006969 * temperature**2 - 5.897e-5 * temperature**3


@calculation(
    "oxygen-current",
    curve="layer",
    limit="electrolysis.current_density",
    title="Current that oxygen alone uses up",
    inputs=(
        Quantity("layer", "still water that the oxygen has to cross: a tenth of a millimetre where gas or a "
                 "pump stirs, half a millimetre to one in a quiet tub", unit="mm", low=0.02, high=10,
                 example="0.5 mm"),
        from_house("electrolysis.temperature"),
    ),
    results=Number("density", "mA/cm^2", "for each square centimetre of the piece", 2),
    assumes=(
        "water saturated with air; in alkali a tenth less, in a bath that is bubbled with air more",
        "below this current the piece is no better off than without: all of it goes into oxygen",
        "above it the rest makes hydrogen or reduces rust",
    ),
    sources=("oxygen-limit", "vukmirovic-2003", "si-constants"),
)  # fmt: skip
def oxygen_current(layer, temperature):
    """Four electrons for each molecule that diffuses through the layer."""
    warmer = 1 / (ROOM + ZERO_CELSIUS) - 1 / (temperature + ZERO_CELSIUS)
    diffusivity = OXYGEN_DIFFUSIVITY * exp(OXYGEN_ENERGY / GAS_CONSTANT * warmer)
    dissolved = dissolved_oxygen(temperature) / OXYGEN_MASS
    return 4 * FARADAY * diffusivity * dissolved / (layer / 1000) / 10
