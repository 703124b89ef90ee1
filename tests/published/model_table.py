"""The table "Models" of DEVELOPERS.md: what is computed, how, how far, and how well it reproduces published values.

``python -m tests.published.model_table`` runs the published checks and rewrites the section between its two markers.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from configopt.appraisal.models import MODELS, Cited, Model

HERE = Path(__file__).parent
DEVELOPERS = HERE.parents[1] / "DEVELOPERS.md"
BEGIN, END = "<!-- models: begin -->", "<!-- models: end -->"
#: Deviations below are those of the last digits of a computer's numbers [%].
ROUNDING = 1e-6
#: What is printed for a source where its key alone does not tell.
NAMES = {
    "ansi_svia_1": "ANSI/SVIA 1",
    "asabe_d497": "ASABE D497",
    "brandt_bicycle_wheel": "Brandt",
    "cfr_49_571_119": "49 CFR 571.119",
    "directive_93_14": "93/14/EEC",
    "fr_77_54836": "77 FR 54836",
    "iso_28580_2018": "ISO 28580",
    "iso_2533_1975": "ISO 2533",
    "iso_5751_2": "ISO 5751-2",
    "iso_5775": "ISO 5775",
    "iso_8608_2016": "ISO 8608",
    "nbs_122": "NBS Monograph 122",
    "render_quantitative": "Render",
    "rim_slip_2006": "Tire Science and Technology 34(1), 2006",
    "sae_j2452": "SAE J2452",
    "shigley_8": "Shigley, 8th ed.",
    "shigley_9": "Shigley, 9th ed.",
    "tribology_handbook": "Tribology Handbook",
    "un_r75": "UN R75",
    "un_r78": "UN R78",
    "us_standard_atmosphere_1976": "US Standard Atmosphere 1976",
}


@dataclass(frozen=True)
class Row:
    """One row: models that belong together, and the published tests that check them.

    A test is named by its file, or by its file and parts of its name.  Cells left empty come from the models.
    """

    quantity: str
    formula: str
    models: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    source: str = ""
    validity: str = ""
    estimates: str = ""
    not_modelled: str = ""

    def holds(self, stem: str, name: str) -> bool:
        """Whether a test belongs to the row."""
        for check in self.checks:
            file, _, parts = check.partition("::")
            if stem == f"test_{file}" and any(part in name for part in parts.split("|")):
                return True
        return False


ROWS = (
    Row(
        "wheel loads, front load share, lift-off",
        "statics with grade and braking; larger or smaller wheels turn the chassis",
        ("wheel_loads", "front_load_share", "lift_off"),
        ("limpert_2008",),
        estimates="none",
    ),
    Row(
        "inflation while riding",
        "q = (q_set + p_set) T/T_set - p",
        ("inflation",),
        ("urone_2012::bicycle_tire|car_tire",),
    ),
    Row(
        "tire and rim sizes",
        "designations as in the standards; w = w_m + 0.4 (rim - measuring rim)",
        ("tire_size",),
        ("iso_5751", "iso_5775", "un_r75::rim_diameter", "jis_d_4215_rims::letters|width_code"),
        estimates="none",
    ),
    Row(
        "deflection, loaded radius, contact patch, vertical stiffness",
        "W = (q + q_c) w sqrt(w D) f(d/w); A = 2.3 d sqrt(w D)",
        ("casing_pressure", "tire_deflection", "loaded_radius", "contact_patch", "tire_stiffness"),
        ("smiley_horne_1960", "renart_2019", "rothhaemel_2023"),
        estimates="casing pressure q_c: 8 % of the rated one, 12 % heavy-duty, +-40 %, unless a reading is given",
        not_modelled="radial casings, camber, warming, stiffening while rolling, damping of the rubber",
    ),
    Row(
        "rated load of tire, rim, disc wheel",
        "rated load over static load",
        ("tire_load_rating", "wheel_load_rating"),
        ("un_r75::load_index|speed_symbol|service_description",),
        estimates="none",
        not_modelled="lower rating below the reference pressure where the maker states none; dents, fatigue",
    ),
    Row(
        "lateral stiffness of the tire",
        "K_y = 2 w (q + 0.24 q_rated)(1 - 0.7 d/w)",
        ("lateral_stiffness",),
        ("smiley_horne_1960_lateral",),
    ),
    Row(
        "puncture protection, 0 to 3",
        "plunger energy of casing, under-tread and lugs against the levels of the standard; inner",
        ("puncture_protection",),
        ("cfr_571_119",),
        estimates="toughness of casing and tread, under-tread 2 mm, the levels themselves",
    ),
    Row(
        "rolling on firm ground",
        "R = c W; reading of the tire x shape in pressure and speed x inner x texture of the surface",
        ("rolling_coefficient", "rolling_resistance"),
        ("bradley_1996", "clark_1978", "walter_conant_1974", "sae_j2452", "berto::rolls_easier"),
        estimates="exponent -0.5 below 1.5 bar (-0.8 to -0.3) unless the tire's own test gives it; textures; inners",
    ),
    Row(
        "roughness; contact and ride on rough ground",
        "R = pi^2 G k, filtered by the quarter car and the patch; change of load sigma/W",
        ("roughness", "rough_contact"),
        ("zuo_zhang_2013", "iso_8608"),
        estimates="class of the surface; bounce at 1.6 Hz where no spring rate is stated; casing pressure",
        not_modelled="pitch, tire damping, bottoming, frequency weighting for people",
    ),
    Row(
        "single obstacles",
        "kinetic energy of the unsprung mass and damper work over what the tire does not swallow",
        ("obstacles",),
    ),
    Row(
        "rim strike",
        "energy up to the rim, times 0.5 for an edge, over impact energy and load x what is not swallowed",
        ("strike_margin",),
        estimates="share 0.5 that an edge mobilises (0.3 to 0.7); swallowed part as for obstacles",
        not_modelled="sharp points, dents beyond the strike",
    ),
    Row(
        "ground pressure, sinkage, bogging",
        "p = k z^n; rigid or flattened wheel, whichever presses less; bogged at 0.4 D or the clearance",
        ("ground_pressure", "sinkage", "bogging"),
        (
            "wong_2008::sinkage|critical|contact_length",
            "bekker_1969",
            "nbs_monograph_122",
        ),
        estimates="casing pressure; estimated soils, peat among them; 0.4 of the diameter",
        not_modelled="slip sinkage, bow wave, peaks under lugs, layers and moisture of the ground",
    ),
    Row(
        "soft ground: compaction, flexing of the tire",
        "R = e w k z^(n+1)/(n+1); c W (1 - (q + q_c)/p_gcr)",
        ("compaction", "flexing_on_soil"),
        ("wong_2008::resistance|resists_less", "akin_2020", "nilges"),
        estimates="rut factor 0.6 of the second wheel (0.3 to 1); casing pressure; share of the firm coefficient",
    ),
    Row(
        "second opinion by the cone index, never a limit",
        "R/W = 1/B_n + 0.04 + 0.5 i/sqrt(B_n)",
        ("cone_index_resistance",),
        ("brixius_1987", "asae_d497"),
        estimates="none",
    ),
    Row(
        "mean maximum pressure",
        "4.40 W/(w^0.85 D^1.15 sqrt(d/H)); the worse axle stands for all",
        ("mean_maximum_pressure",),
        ("rowland_1975",),
    ),
    Row(
        "grip on firm ground, torque that slides the wheel",
        "F = mu y W (W/W_ref)^(m-1) ((q + q_c)/p_ref)^(-s)",
        ("grip", "grip_torque"),
        ("milliken_1995", "berto::side_force"),
        source="Milliken 1995 (form); statics; friction as the catalog cites it",
    ),
    Row(
        "thrust and slip on soft ground",
        "Mohr-Coulomb with lugs as grousers; F = H (1 - K/(i l)(1 - exp(-i l/K)))",
        ("soil_thrust", "slip", "slip_energy"),
        ("wong_2008::maximum_thrust|against_slip", "bekker_1956", "janosi_hanamoto_1961", "dwyer_1974"),
        validity="slip up to 0.6, else impassable; on dry sand rather high",
        estimates="open share of the tread scales the lugs; slip limit 0.6; casing pressure",
        not_modelled="slip on firm ground, slip sinkage, rate of shear",
    ),
    Row(
        "resistance of a terrain, thrust and drive reserve, top speed",
        "sum of resistances in the hardest direction; thrust of ground and of motor over it; V = omega R/i",
        ("terrain_resistance", "thrust_reserve", "drive_reserve", "top_speed"),
        source="balance of forces, torque and power; Wong 2008 (slip)",
        validity="steady speed; short-time torque and power of the motor",
        estimates="those of its parts; slip limit 0.6",
        not_modelled="heat of motor and battery, field weakening",
    ),
    Row(
        "steepest climb",
        "thrust of ground or motor = resistance + m g sin t, or the front lifts",
        ("climb",),
        ("ansi_svia_1::pitch",),
    ),
    Row("highest step from rest", "h = R (1 - 1/sqrt(1 + mu^2))", ("step",)),
    Row(
        "side slope, lateral stability of quads",
        "F/W of the worse axle; half the track over the height of the centre of gravity",
        ("side_slope", "lateral_stability"),
        ("ansi_svia_1::lateral",),
    ),
    Row(
        "brake torque and its reserve",
        "T = 2 mu N r_e, uniform wear, at the stated hand force; over what the ground takes",
        ("brake_torque", "brake_torque_reserve"),
        ("shigley", "ugural", "tribology_handbook::friction|pressure"),
        estimates="those of the grip; reserve 1.2 as a default limit",
    ),
    Row(
        "deceleration with both brakes",
        "each axle what grip or brake allows, up to lift-off",
        ("deceleration",),
    ),
    Row(
        "braking of road-legal vehicles",
        "one brake alone, laden, mu 0.9, over the required deceleration",
        ("statutory_deceleration",),
        ("directive_93_14_eec", "un_r78"),
    ),
    Row(
        "creep of the tire on its rim: holds, holds at the middle, does not hold",
        "T = y (T_fit + 2 mu r_b A q) + rim locks, over the peak torque",
        ("bead_torque", "creep_margin"),
        estimates="friction 0.2 (0.1 to 0.5), share left at the ground 0.5 (0.35 to 0.65), bead fit, torque of a lock",
    ),
    Row(
        "peak torque of a wheel, torque margin of the hub",
        "min(grip torque of the grippiest terrain, max(brake, motor))",
        ("peak_torque", "hub_torque"),
        not_modelled="shocks of landing and of the drive; pins, bolts, threads",
    ),
    Row(
        "heat into a rotor",
        "descent P = (m g sin t - R - F_air) V s/n; stop E = (m + sum I/R^2) V^2/2 s/n",
        ("descent_heat", "stop_heat", "rotor_heat_capacity"),
        ("urone_2012::brakes_of_a_truck",),
        validity="regeneration never counts; track alone, worn to its limit",
    ),
    Row(
        "rotor temperature and its margin",
        "C dT/dt = P - convection - radiation; limits of steel and pad",
        ("rotor_temperature", "repeated_stops", "rotor_temperature_margin"),
        ("limpert", "limpert_heat", "tribology_handbook::temperature"),
        source="Limpert (memory); Tribology Handbook; steelmakers' data sheets",
    ),
    Row(
        "spoke length, tension ratio",
        "geometry; the sideways pulls on the rim balance",
        ("spoke_length", "tension_ratio"),
        ("ford_2018::276_mm",),
        estimates="none",
    ),
    Row(
        "stiffness of the spoked wheel",
        "rim as a beam on smeared spokes: modes of bending, torsion and tension",
        ("wheel_stiffness",),
        (
            "ford_2018::effective_diameter|rigidity_of_the_butted|foundation_of|has_a_|two_thirds|71_newt|1067|wind|rigid_body",
            "hetenyi_1946",
            "salamon_oldham_1992",
        ),
    ),
    Row(
        "build tension, folding of the rim",
        "half the tension at which the rim folds, or what the rim permits",
        ("build_tension", "rim_folding"),
        ("ford_2018::lose_three_pi|folds|critical_pull|best_tension",),
        estimates="rigidities of rims without a measurement; that wheels are built to this tension",
    ),
    Row(
        "first slack spoke",
        "tension over what one unit of load, side load or torque takes from the spoke",
        ("first_slack_spoke", "spoke_reserve"),
        ("ford_2018::slacken",),
    ),
    Row(
        "spoke stress",
        "Goodman's line between T and T - y W, endurance 0.25 of the strength",
        ("spoke_stress",),
        ("mcmahon_graham",),
    ),
    Row(
        "mass, unsprung mass",
        "sum of pieces; spokes as steel rods",
        ("mass", "unsprung_mass"),
        source="masses of the catalog",
        estimates="none beyond the catalog's",
    ),
    Row(
        "inertia, gyroscopic moment, rotating mass",
        "rings, discs and rods; I_d = I/2 + m w^2/12; M = I V/R x rate",
        ("wheel_inertia", "diametral_inertia", "gyroscopic_moment", "rotating_mass"),
        ("ling_2016", "moore_2012::spin_inertia", "meijaard_2007"),
        estimates="where a part's mass sits; rate of 1 rad/s",
    ),
    Row("trail, pitch of the chassis", "(R_f sin e - o)/cos e", ("trail", "pitch"), ("moore_2012::trail",)),
    Row(
        "ground clearance, break-over",
        "mean change of the loaded radii; each ramp touches its wheel",
        ("ground_clearance", "break_over"),
        not_modelled="suspension travel, ruts",
    ),
    Row(
        "chassis window",
        "wheelbase and centre of gravity by climb, braking, load share, crest",
        ("chassis_window",),
    ),
    Row(
        "steering moment at standstill",
        "M = n 0.376 mu W sqrt(A)",
        ("steering_moment",),
        ("sharp_granger_2003",),
    ),
    Row(
        "air drag",
        "rho C_d A V^2/2, standard atmosphere",
        ("air",),
        ("us_standard_atmosphere_1976", "urone_2012::skydiver"),
        estimates="none",
    ),
    Row(
        "energy by cause, rolling loss, range",
        "ten causes, mean of the directions, mix of the terrains; battery over energy",
        (
            "wheel_energy",
            "grade_energy",
            "stop_and_go",
            "drivetrain",
            "regeneration",
            "rolling_loss",
            "energy",
            "range",
        ),
        source="energy balance (1 Wh/km = 3.6 N)",
        validity="steady riding plus the stated stops, no wind; one efficiency for all loads",
        estimates="those of the resistances: +-40 % until learned from a coast-down, differences better",
        not_modelled="wind, efficiency over load and speed, electronics, cold or aged battery",
    ),
    Row(
        "uncertainty of every margin",
        "512 draws of all uncertain figures through the full model; 5 and 95 %",
        ("uncertainty",),
        source="Monte Carlo on a scrambled Sobol sequence, fixed seed",
    ),
    Row(
        "cost, running cost, lead time",
        "cheapest price tier for the quantity; wear by stated lives; latest delivery",
        ("cost", "running_cost", "lead_time"),
        ("render_quantitative",),
        source="Render (memory); catalog",
        validity="the stated number of vehicles; lives as stated",
        estimates="lives of tread, pads and rotors; demo prices are invented",
    ),
    Row(
        "figures of the demo surfaces (catalog)",
        "soils, friction and rolling coefficients as printed",
        checks=("wong_2008_soils", "wong_1993", "noon_1994", "carvill", "marks"),
        source="Wong 2008, Table 2.3; Wong 1993; Noon 1994; Carvill; Marks",
        validity="the tread and condition that the source names",
        estimates="other treads, textures, surfaces of the grade estimate",
    ),
    Row(
        "pressed rims (functions only)",
        "least load of a pressed rim; thin ring",
        checks=("jis_d_4215_rims::deflection_goes|least_load", "timoshenko", "ford_2018::pressed_ring"),
        source="JIS D 4215; Timoshenko (memory); Ford 2018",
        validity="motorcycle rims on a flat base",
        not_modelled="no figure of the appraisal rests on them",
    ),
    Row(
        "trade units",
        "conversion factors",
        checks=("nist_sp_811", "fr_89_4188"),
        source="NIST SP 811 (memory); 89 FR 4188",
        validity="the units of `quantities`",
    ),
    Row(
        "second opinions on soft ground (functions only)",
        "cone index and wheel numerics, vehicle cone index, snow",
        checks=(
            "gee_clough_1978",
            "turnage_1972",
            "turnage_1978",
            "wismer_luth_1974",
            "maclaurin_1990",
            "maclaurin_1997",
            "en5341",
            "fm_5_430",
            "priddy_willoughby_2006",
            "rowland_1972",
            "richmond_1995",
            "richmond_shoop_1995",
        ),
        source="the papers that the tests name",
        validity="heavier vehicles",
        not_modelled="no figure of the appraisal rests on them",
    ),
    Row(
        "road load, drum readings (functions only)",
        "F = A + C V^2; sqrt(1 + r/R)",
        checks=("cfr_86_529_98", "un_gtr_2", "clark_drum"),
        source="40 CFR 86.529-98; UN GTR 2 (memory); Clark",
        validity="motorcycles on a dynamometer",
        not_modelled="no figure of the appraisal rests on them",
    ),
    Row(
        "stopping distance, fluids, still-air cooling (functions only)",
        "S = V t + V^2/(2 a); boiling points; spinning disc",
        checks=("rcw_46_37_528", "stvzo_41", "urone_2012::car_stops", "cfr_571_116", "kreith"),
        source="the rules and books that the tests name",
        validity="as printed",
        not_modelled="no figure of the appraisal rests on them",
    ),
    Row(
        "push over a step, turns, unseating, bolts (functions only)",
        "statics; tan t = V^2/(g r); linear in pressure; stress areas",
        checks=(
            "halliday_resnick",
            "young_freedman_2004",
            "urone_2012::turn|bank|leans",
            "muniandy_loh",
            "shigley_9",
            "iso_898_1",
        ),
        source="the standards and books that the tests name",
        validity="as printed",
        not_modelled="no figure of the appraisal rests on them",
    ),
)


def measured() -> dict[str, Any]:
    """What one run of the published checks finds."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "reproduction.json"
        options = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--reproduction", str(file)]
        run = subprocess.run(
            [sys.executable, "-m", "pytest", str(HERE), *options],
            cwd=HERE.parents[1],
            capture_output=True,
            text=True,
            check=False,
        )
        if run.returncode != 0:
            raise SystemExit(run.stdout + run.stderr)
        found: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    return found


def tests_of(row: Row, found: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Counts and deviations of the tests of a row."""
    for stem, file in found.items():
        for name, test in file["tests"].items():
            if row.holds(stem, name):
                yield test


def joined(texts: list[str]) -> str:
    """Texts of several models in one cell, each once."""
    return "; ".join(dict.fromkeys(part for text in texts for part in text.split("; ") if part)) or "none"


def source_name(cited: Cited) -> str:
    """Short name of a source."""
    if cited.key is None:
        return (
            "own derivation" if "own" in cited.where.lower() else cited.where[:1].lower() + cited.where[1:].rstrip(".")
        )
    name = NAMES.get(cited.key, " ".join(cited.key.split("_")).title())
    return f"{name} (memory)" if "from memory" in cited.where else name


def checks_cell(tests: list[dict[str, Any]], models: list[Model]) -> str:
    """Number of checks, how many rest on memory, and the largest deviation."""
    if not tests:
        return "through its parts" if any(model.checks for model in models) else "none found"
    count = sum(test["checks"] for test in tests)
    memory = sum(test["from_memory"] for test in tests)
    known = [test["largest_deviation_percent"] for test in tests if test["largest_deviation_percent"] is not None]
    largest = max(known, default=None)
    text = f"{count} ({memory} memory)" if memory else str(count)
    if largest is None:
        return f"{text}; signs and bounds"
    return f"{text}; exact" if largest < ROUNDING else f"{text}; {largest:.2g} %"


def cells(row: Row, found: dict[str, Any]) -> list[str]:
    """The cells of a row."""
    models = [MODELS[key] for key in row.models]
    return [
        row.quantity,
        row.formula,
        row.source or joined([source_name(cited) for model in models for cited in model.sources]),
        row.validity or joined([model.validity for model in models]),
        checks_cell(list(tests_of(row, found)), models),
        row.estimates or joined([model.estimates for model in models]),
        row.not_modelled or joined([model.not_modelled for model in models]),
    ]


def section(found: dict[str, Any]) -> str:
    """The section, without its markers."""
    count = sum(file["checks"] for file in found.values())
    memory = sum(file["from_memory"] for file in found.values())
    head = ("quantity", "model", "source", "valid for", "published checks", "estimates", "not modelled")
    lines = [
        f"`tests/published/` holds {count} checks in {len(found)} files, one file per source document or part of it.",
        f"{memory} of them rest on memory: their source could not be read again, and file, test or id says so.",
        "Each check stands in one row; its tolerance comes from the printed digits.",
        "The percentage is the largest deviation between our value and the printed one: mostly rounding of the source,",
        "or, where a source prints two forms of one requirement, their own disagreement.",
        "*Exact*: a printed formula, limit or table entry is reproduced to the last digit, which shows that it was",
        "copied right, not that nature follows it.",
        "*Signs and bounds*: the source prints a direction or a range.",
        "*Through its parts*: what it is made of is checked in other rows.",
        "",
        "| " + " | ".join(head) + " |",
        "| " + " | ".join("---" for _ in head) + " |",
    ]
    lines += ["| " + " | ".join(cells(row, found)) + " |" for row in ROWS]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Rewrite the section."""
    before, _, rest = DEVELOPERS.read_text(encoding="utf-8").partition(BEGIN)
    after = rest.partition(END)[2]
    DEVELOPERS.write_text(f"{before}{BEGIN}\n{section(measured())}{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
