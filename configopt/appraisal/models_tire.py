"""Models of the loads and of the tire itself."""

from __future__ import annotations

from configopt.appraisal.model_record import Cited, Model

_BIAS_TIRES = "bias-ply tires; d/w up to about 0.5"
_OWN_STATICS = Cited(None, "Statics, own derivation.")
_MEASURED = "listed designations; a measured dimension in the catalog wins"
_CASING = "casing pressure unless a deflection reading is given"

TIRE_MODELS: tuple[Model, ...] = (
    Model(
        key="wheel_loads",
        subject="loads and tire",
        quantity="wheel load and centre of gravity",
        formula="W_f L = m (g cos t b + u h) + m_f (g cos t L + u R_f) + m_r u R_r, u = a - g sin t; W_r = (m + m_f + "
        "m_r) g cos t - W_f; b = b_0 - (h_0 - s R_0f - (1 - s) R_0r)(e_f - e_r)/L, h = h_0 + s e_f + (1 - s) e_r; "
        "m without packages, m_f, m_r packages of the axles (final drive in m_r), L wheelbase, b, h distance from the "
        "rear axle and height of the centre of gravity, s = b_0/L, e = R - R_0 over the reference radius, t grade "
        "angle, a deceleration",
        sources=(
            Cited("limpert_2008", "Equations 1 and 2 (level ground and braking)."),
            Cited(None, "Statics, own derivation (grade, other radii)."),
        ),
        validity="both wheels on the ground; small change of attitude; a wheel below zero load counts as lifted",
        not_modelled="suspension travel, side slope, aerodynamic load",
        functions=("physics.loads.axle_loads",),
        checks=("test_limpert_2008",),
    ),
    Model(
        key="inflation",
        subject="loads and tire",
        quantity="inflation pressure while riding",
        formula="q = (q_set + p_set) T/T_set - p; q gauge pressure, p pressure of the atmosphere, T absolute "
        "temperature; a foam insert counts as its equivalent pressure",
        sources=(
            Cited("urone_2012", "Section 13.3, ideal gas at constant volume."),
            Cited("us_standard_atmosphere_1976", "Equation 33a, pressure at an altitude, from memory."),
        ),
        validity="below 11 km; temperature of the enclosed air equals that of the surroundings",
        estimates="equivalent pressure of a foam insert",
        not_modelled="warming of the tire while riding, change of its volume, leakage",
        functions=("physics.tire.inflation_at", "physics.tire.foam_equivalent", "physics.air.atmospheric_pressure"),
        checks=("test_urone_2012", "test_us_standard_atmosphere_1976"),
    ),
    Model(
        key="tire_size",
        subject="loads and tire",
        quantity="section width on the rim and overall diameter",
        formula="w = w_m + 0.4 (rim width - measuring rim width); D = rim diameter + 2 section height",
        sources=(
            Cited("iso_5751_2", "Clause 5.2."),
            Cited("un_r75", "Paragraph 2, from memory."),
            Cited("iso_5775", "Part 1, dimensions."),
        ),
        validity=_MEASURED,
        not_modelled="growth with speed and age",
        functions=("sizes.section_width_on_rim", "sizes.parse_tire_size", "physics.tire.grown_width"),
        checks=("test_iso_5751", "test_un_r75", "test_iso_5775"),
    ),
    Model(
        key="casing_pressure",
        subject="loads and tire",
        quantity="stiffness of the casing as a pressure",
        formula="q_c = s 0.08 q_rated (0.12 q_rated for a heavy-duty casing); from one deflection reading q_c = "
        "F/(w sqrt(w D) f(d/w)) - q",
        sources=(Cited("smiley_horne_1960", "Share of the rated pressure, from memory."),),
        validity=_BIAS_TIRES,
        assumed=("carcass_share",),
        estimates="factor 1.5 of a heavy-duty casing; s = 1 (0.2 to 1.8), which is +-40 % as a standard uncertainty",
        functions=("physics.tire.default_carcass_pressure", "physics.tire.carcass_pressure_from_reading"),
        checks=("test_smiley_horne_1960",),
    ),
    Model(
        key="tire_deflection",
        subject="loads and tire",
        quantity="deflection of the tire, over its section height",
        formula="W = (q + q_c) w sqrt(w D) f(d/w), f(x) = 0.96 x + 7.2 x^2 up to x = 0.1, 2.4 (x - 0.03) beyond; d "
        "deflection, w section width, D diameter; shown over the section height H",
        sources=(Cited("smiley_horne_1960", "Vertical force-deflection relation, from memory."),),
        validity=f"{_BIAS_TIRES}; flat firm ground",
        assumed=("carcass_share",),
        estimates=f"{_CASING}; 0.35 of the section height as the limit of the casing",
        not_modelled="radial casings, camber, carcass heating",
        functions=("physics.tire.deflection", "physics.tire.load_at_deflection"),
        checks=("test_smiley_horne_1960", "test_renart_2019", "test_rothhaemel_2023"),
    ),
    Model(
        key="loaded_radius",
        subject="loads and tire",
        quantity="height of the axle over firm ground",
        formula="R = D/2 - d",
        sources=(Cited("smiley_horne_1960", "Through the deflection, from memory."),),
        validity=_BIAS_TIRES,
        assumed=("carcass_share",),
        estimates=f"{_CASING}; the same radius serves gearing, torque and clearance",
        not_modelled="difference between loaded and rolling radius",
        functions=("physics.tire.deflection",),
        checks=("test_smiley_horne_1960",),
    ),
    Model(
        key="contact_patch",
        subject="loads and tire",
        quantity="length and gross area of the contact patch on firm ground",
        formula="l = 1.7 D sqrt(d/D - (d/D)^2); A = 2.3 d sqrt(w D)",
        sources=(Cited("smiley_horne_1960", "Footprint length and gross footprint area, from memory."),),
        validity=_BIAS_TIRES,
        assumed=("carcass_share",),
        estimates=_CASING,
        not_modelled="grooves of the tread, camber",
        functions=("physics.tire.patch_length", "physics.tire.patch_area"),
        checks=("test_smiley_horne_1960",),
    ),
    Model(
        key="tire_stiffness",
        subject="loads and tire",
        quantity="vertical stiffness of the tire",
        formula="k = (q + q_c) sqrt(w D) (0.96 + 14.4 min(d/w, 0.1))",
        sources=(Cited("smiley_horne_1960", "Slope of the force-deflection relation, from memory."),),
        validity=f"{_BIAS_TIRES}; standing tire",
        assumed=("carcass_share",),
        estimates=_CASING,
        not_modelled="stiffening while rolling, damping of the rubber",
        functions=("physics.tire.vertical_stiffness",),
        checks=("test_smiley_horne_1960", "test_rothhaemel_2023"),
    ),
    Model(
        key="tire_load_rating",
        subject="loads and tire",
        quantity="load that the tire may carry over its static load",
        formula="g m_rated/W; m_rated the maker's load at the pressure where stated, else that of the load index",
        sources=(Cited("un_r75", "Table of load capacity indices."),),
        validity="the load index holds at the reference pressure and speed of the rating",
        not_modelled="lower load at less than the reference pressure where the maker states none",
        functions=("fit.rules.tire_maximum_load", "sizes.parse_service_description"),
        checks=("test_un_r75",),
    ),
    Model(
        key="lateral_stiffness",
        subject="loads and tire",
        quantity="lateral stiffness of the standing tire",
        formula="K_y = 2 w (q + 0.24 q_rated)(1 - 0.7 d/w)",
        sources=(Cited("smiley_horne_1960", "Lateral spring constant, from memory."),),
        validity="sign and ranking only: fitted to aircraft tires",
        assumed=("carcass_share",),
        estimates=f"{_CASING}, through the deflection",
        not_modelled="cornering and camber stiffness, width of the rim",
        functions=("physics.handling.lateral_stiffness",),
        checks=("test_smiley_horne_1960_lateral",),
    ),
    Model(
        key="puncture_protection",
        subject="loads and tire",
        quantity="protection against punctures, 0 to 3",
        formula="1: wall t_c + t_u + h x land of at least 7 mm, or sealant; 2: also pi/4 (7.94 mm)^2 (e_c f t_c + "
        "e_t (t_u + h x land)) of at least 16 J; 3: 33 J, or foam; t_c casing, h lug depth, t_u = 2 mm, e_c = 90 "
        "J/cm3, e_t = 12 J/cm3, f = 1.25 for a heavy-duty casing, else 1",
        sources=(
            Cited("cfr_49_571_119", "S7.3 and Table II: plunger and energies, from memory."),
            Cited("fr_77_54836", "Plunger diameter."),
            Cited(None, "Own estimate (energy of a wall, order of the levels)."),
        ),
        validity="ranking only",
        estimates="toughness of casing (60 to 130 J/cm3) and tread (6 to 20), under-tread (0.5 to 4 mm), factor of a "
        "heavy-duty casing (1 to 1.5), the levels themselves",
        not_modelled="speed, pressure, shape of the stone, sidewall cuts",
        functions=("physics.puncture.protection_level", "physics.puncture.penetration_energy"),
        checks=("test_cfr_571_119",),
    ),
    Model(
        key="rolling_coefficient",
        subject="loads and tire",
        quantity="rolling coefficient on a firm surface",
        formula="c = c_sheet y x g(q, V)/g(q_sheet, V_sheet), g = (0.0085 + (0.018 + 1.59e-6 V^2)/p) min(1, (q + q_c)/("
        "1.5 bar + q_c))^a, p = max(q, 1.5 bar) [bar], V [km/h]; y factor of the inner, x texture factor of the "
        "surface; or instead of x plus what a published total coefficient exceeds its own tires' by",
        sources=(
            Cited("bradley_1996", "Rolling resistance of motorcycle tires; also used by Cossalter."),
            Cited("sae_j2452", "Pressure factor of the regression model (below 1.5 bar)."),
            Cited(None, "Totals of surfaces: as the catalog cites them."),
        ),
        validity="up to 165 km/h; the reading lends the level, the formula the shape",
        assumed=("rolling_exponent", "carcass_share"),
        estimates="exponent a below 1.5 bar unless the tire's own test gives it; texture factors; factors of inners",
        not_modelled="temperature, warming up, toe and camber",
        functions=("physics.rolling.rolling_coefficient", "physics.rolling.pressure_speed_factor"),
        checks=(
            "test_bradley_1996",
            "test_clark_1978",
            "test_walter_conant_1974",
            "test_sae_j2452",
            "test_berto",
            "test_carvill",
            "test_marks",
        ),
    ),
)
