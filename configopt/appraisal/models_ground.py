"""Models of the wheel on the ground: resistance, sinkage, roughness, obstacles."""

from __future__ import annotations

from configopt.appraisal.model_record import Cited, Model

_WONG_TIRE = Cited("wong_2008", "Chapter 2, motion resistance of a pneumatic tire.")
#: Validity of the soil model.
SOIL_RANGE = "D of at least 0.5 m, z up to D/6, n of at least 0.3 (remarks outside)"
#: What every figure of a loaded tire rests on.
CASING = "casing pressure unless a deflection reading is given"
_OWN = Cited(None, "Own derivation.")
#: Assumed figures behind whatever resists the wheels on a terrain.
RESISTING = ("carcass_share", "rolling_exponent", "rut_factor", "envelopment")

GROUND_MODELS: tuple[Model, ...] = (
    Model(
        key="rolling_resistance",
        subject="ground",
        quantity="rolling resistance of one wheel on firm ground",
        formula="R = c W; c rolling coefficient, W wheel load",
        sources=(Cited("iso_28580_2018", "Definition of the rolling resistance coefficient."),),
        validity="as the coefficient; loads near those of the reading",
        assumed=("rolling_exponent", "carcass_share"),
        estimates="exponent below 1.5 bar, texture factor of the surface",
        not_modelled="dependence of the coefficient on load and temperature",
        functions=("physics.rolling.rolling_coefficient", "appraisal.ground.rolling_resistance"),
        checks=("test_clark_1978", "test_walter_conant_1974"),
    ),
    Model(
        key="flexing_on_soil",
        subject="ground",
        quantity="resistance of one tire's casing on soft ground",
        formula="R = c W (1 - min(1, (q + q_c)/p_gcr)); p_gcr pressure under the lowest point of a rigid wheel",
        sources=(_OWN, _WONG_TIRE),
        validity="nothing for a tire that runs as a rigid wheel",
        assumed=("rolling_exponent", "carcass_share"),
        estimates="the whole share of the firm-ground coefficient",
        functions=("physics.soft_ground.flexing_resistance",),
        checks=("test_nilges",),
    ),
    Model(
        key="ground_pressure",
        subject="ground",
        quantity="mean pressure on the ground",
        formula="soft: p = min(q + q_c, p_gcr), p_gcr = k^(1/(2n+1)) [3 W/((3 - n) w sqrt(D))]^(2n/(2n+1)), k = k_c/b "
        "+ k_phi, b = min(w, l); firm: p = W/A, A = 2.3 d sqrt(w D)",
        sources=(
            _WONG_TIRE,
            Cited("nbs_122", "Equation 5.9: contact pressure is inflation plus what the structure adds."),
            Cited("smiley_horne_1960", "Gross footprint area, from memory (firm ground)."),
        ),
        validity=SOIL_RANGE,
        assumed=("carcass_share",),
        estimates=CASING,
        not_modelled="peaks under lugs, layers of the ground",
        functions=("physics.soft_ground.wheel_on_soil", "physics.soft_ground.critical_pressure"),
        checks=("test_wong_2008", "test_nbs_monograph_122"),
    ),
    Model(
        key="sinkage",
        subject="ground",
        quantity="sinkage",
        formula="z = (p/k)^(1/n), k = k_c/b + k_phi, b = min(w, l); p ground pressure, l firm patch length",
        sources=(
            Cited("bekker_1969", "Pressure-sinkage relation."),
            Cited("wong_2008", "Chapter 2 and Table 2.3 (soils)."),
        ),
        validity=SOIL_RANGE,
        assumed=("carcass_share",),
        estimates=f"{CASING}; soils that the catalog marks as estimated, peat among them",
        not_modelled="slip sinkage, bow wave, layers of the ground, moisture",
        functions=("physics.soft_ground.plate_sinkage", "physics.soft_ground.soil_modulus"),
        checks=("test_wong_2008", "test_wong_2008_soils", "test_bekker_1969", "test_akin_2020", "test_nilges"),
    ),
    Model(
        key="bogging",
        subject="ground",
        quantity="sinkage at which the wheel bogs over its sinkage",
        formula="min(0.4 D, ground clearance)/z, at most 1000",
        sources=(
            Cited(None, "Own convention."),
            Cited("bekker_1969", "Limits of wheel size and sinkage, from memory (remarks)."),
        ),
        validity=SOIL_RANGE,
        assumed=("carcass_share",),
        estimates="0.4 of the diameter",
        functions=("physics.soft_ground.soil_remarks", "appraisal.contact.Contact.sinkage_reserve"),
        checks=("test_bekker_1969",),
    ),
    Model(
        key="compaction",
        subject="ground",
        quantity="resistance of one wheel by pressing a rut",
        formula="R = e w k z^(n+1)/(n+1); e = 1 for the front wheel, the rut factor for the one that follows",
        sources=(Cited("bekker_1969", "Work of a plate."), Cited("wong_2008", "Chapter 2, motion resistance.")),
        validity=SOIL_RANGE,
        assumed=("rut_factor", "carcass_share"),
        estimates=f"rut factor 0.6 (0.3 to 1), whatever the widths and offsets; {CASING}",
        not_modelled="bulldozing, wheels that run beside the rut",
        functions=("physics.soft_ground.compaction_resistance",),
        checks=("test_wong_2008", "test_akin_2020"),
    ),
    Model(
        key="cone_index_resistance",
        subject="ground",
        quantity="second opinion on the resistance, by the cone index; never a limit",
        formula="R/W = 1/B_n + 0.04 + 0.5 i/sqrt(B_n), B_n = (C w D/W)(1 + 5 d/H)/(1 + 3 w/D); C cone index, i slip",
        sources=(Cited("brixius_1987", "Motion resistance ratio."), Cited("asabe_d497", "Clause 3, traction.")),
        validity="bias tires in fine-grained soil; ranges of width, deflection and load of ASAE D497 (remarks outside)",
        not_modelled="sand, peat, snow",
        functions=(
            "physics.mobility_numbers.brixius_motion_resistance",
            "physics.mobility_numbers.brixius_numeric",
        ),
        checks=("test_brixius_1987", "test_asae_d497"),
    ),
    Model(
        key="roughness",
        subject="ground",
        quantity="resistance of one wheel by a rough surface",
        formula="R = pi^2 G k D(a)/(D(a) + k), a = 2 V/l, D(a) = m_u a^2 + m_s a^2 (c a + k_s)/(m_s a^2 + c a + k_s); "
        "G roughness constant, k tire stiffness as far as the wheel keeps contact, m_u, m_s masses below and above "
        "the suspension, c damper, k_s spring, l patch length; without suspension D = (W/g) a^2",
        sources=(
            Cited("zuo_zhang_2013", "Limit pi^2 G k of a point follower, from memory."),
            Cited("iso_8608_2016", "Classes A to E, Annex C."),
            Cited(None, "Filtered form: own derivation."),
        ),
        validity="ISO 8608 classes A to E, waviness 2; beyond an rms of W/3 loss of contact is linearised",
        assumed=("carcass_share",),
        estimates=f"class of the surface; bounce at 1.6 Hz where no spring rate is stated; {CASING}",
        not_modelled="pitch, tire damping, bottoming of the suspension",
        functions=(
            "physics.quarter_car.filtered_resistance",
            "physics.rough_ride.rough_ride",
            "physics.roughness.roughness_constant",
        ),
        checks=("test_zuo_zhang_2013", "test_iso_8608"),
    ),
    Model(
        key="rough_contact",
        subject="ground",
        quantity="contact and ride of one wheel on a rough surface",
        formula="quarter car behind the patch's low pass (corner V/(pi l)): sigma rms of the tire force, k = k_t "
        "Phi(W/sigma); change of load sigma/W, time off the ground Phi(-W/sigma), rms acceleration of the sprung mass; "
        "Phi normal distribution",
        sources=(
            Cited("iso_8608_2016", "Classes A to E, Annex C."),
            Cited(None, "Closed form of the quarter car and statistical linearisation: own derivation."),
        ),
        validity="rms up to W/3; beyond it, figures of the linearised wheel (remark)",
        assumed=("carcass_share",),
        estimates=f"class of the surface; bounce at 1.6 Hz where no spring rate is stated; {CASING}",
        not_modelled="frequency weighting for people, pitch, bottoming of the suspension",
        functions=(
            "physics.rough_ride.rough_ride",
            "physics.roughness.roughness_constant",
            "physics.quarter_car.tire_force_variance",
        ),
        checks=("test_iso_8608", "test_zuo_zhang_2013"),
    ),
    Model(
        key="obstacles",
        subject="ground",
        quantity="mean resistance of one wheel by single obstacles",
        formula="R = sum of N E, E = m_u V^2/2 (2 h_e/R - (h_e/R)^2) + pi^2 c V h_e^2/(2 L), L = 2 sqrt(2 R h_e - "
        "h_e^2), at most W h_e + (W/g) V^2/2 (2 h/R - (h/R)^2); h_e = h - min(h, y (d(2W) - d(W))); N number per "
        "distance, h height, R free radius, m_u unsprung mass, c damper; without suspension m_u is W/g and c is 0",
        sources=(_OWN,),
        validity="separate obstacles lower than the wheel's radius",
        assumed=("envelopment", "carcass_share"),
        estimates="swallowed part y (d(2W) - d(W)), y = 1 (0.5 to 1.5); damper over a half sine",
        not_modelled="rebound, obstacles that move, several at once",
        functions=("physics.obstacles.strike_energy", "physics.obstacles.enveloped_height"),
    ),
    Model(
        key="strike_margin",
        subject="ground",
        quantity="energy until the rim strikes over what the worst obstacle asks",
        formula="y_e x (integral of F(d) to d_f)/(m_u V^2/2 (2 h_e/R - (h_e/R)^2) + W min(h_e, d_f)), d_f = H - flange "
        "height - 2 casing thickness; F the force-deflection relation, h_e as for the obstacles; without suspension "
        "m_u is W/g; at most 1000, as a foam insert and an edge swallowed whole are shown",
        sources=(_OWN, Cited("smiley_horne_1960", "Force-deflection relation, from memory.")),
        validity="ranking; one edge, straight ahead",
        assumed=("edge_share", "envelopment", "carcass_share"),
        estimates="share y_e = 0.5 of the force that an edge mobilises (0.3 to 0.7); swallowed part as for obstacles",
        not_modelled="sharp points, rim dents beyond the strike; a foam insert does not strike through",
        functions=("physics.obstacles.strike_capacity", "physics.obstacles.strike_demand"),
    ),
    Model(
        key="mean_maximum_pressure",
        subject="ground",
        quantity="mean maximum pressure of the whole vehicle",
        formula="4.40 W/(w^0.85 D^1.15 sqrt(d/H)), w and D in m; W load of one wheel; the worse axle stands for all",
        sources=(Cited("rowland_1975", "Wheeled vehicles, two axles of which one is driven, from memory."),),
        validity="an empirical figure for comparison with the limits stated in the same terms",
        assumed=("carcass_share",),
        estimates=f"the worse axle's tire for all; {CASING}",
        functions=("physics.vehicle_cone_index.rowland_wheel_pressure",),
        checks=("test_rowland_1975",),
    ),
)
