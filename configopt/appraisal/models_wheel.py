"""Models of the built wheel: rating, spokes, stiffness, inertia."""

from __future__ import annotations

from configopt.appraisal.model_record import Cited, Model

WHEEL_MODELS: tuple[Model, ...] = (
    Model(
        key="wheel_load_rating",
        subject="wheel",
        quantity="load that rim or disc wheel may carry over its static load",
        formula="g m_rated/W",
        sources=(Cited(None, "Rating of the maker in the catalog."),),
        validity="as the maker rates it",
        not_modelled="dents, fatigue",
        functions=("appraisal.model.Evaluation.value",),
    ),
    Model(
        key="spoke_length",
        subject="wheel",
        quantity="length of the spokes of one side",
        formula="l = sqrt(o^2 + r_f^2 + r_r^2 - 2 r_f r_r cos(2 pi x/n)) - r_hole; o flange offset, r_f, r_r radius of "
        "flange and nipple seats, x crossings, n spokes on one side",
        sources=(
            Cited("brandt_bicycle_wheel", "Spoke length."),
            Cited("ford_2018", "Standard wheel with 276 mm spokes."),
        ),
        validity="to the end of the spoke at the effective rim diameter",
        not_modelled="stretch of the spokes, depth of the nipple",
        functions=("physics.spokes.spoke_length",),
        checks=("test_ford_2018",),
    ),
    Model(
        key="tension_ratio",
        subject="wheel",
        quantity="tension of the slacker spokes over that of the tighter",
        formula="(l_left/o_left)/(l_right/o_right), or its inverse below 1; l spoke length, o flange offset",
        sources=(
            Cited("brandt_bicycle_wheel", "Dish."),
            Cited(None, "Statics: the sideways pulls on the rim balance."),
        ),
        validity="a true wheel with equal numbers of spokes on both sides",
        not_modelled="asymmetric rims",
        functions=("physics.spokes.tension_ratio",),
    ),
    Model(
        key="build_tension",
        subject="wheel",
        quantity="tension to which the spokes are built",
        formula="tighter side T = T_rim min(1, 0.5 x), slacker side T times the tension ratio; T_rim what the rim "
        "permits, x the tension at which the rim would fold over T_rim",
        sources=(Cited("ford_2018", "Chapter on external loads, T_opt = 0.5 T_c."),),
        validity="a wheel built evenly",
        estimates="that wheels are built to this tension",
        not_modelled="settling, uneven tension",
        functions=("physics.wheel_buckling.buckling_reserve", "appraisal.spoked.structure"),
        checks=("test_ford_2018",),
    ),
    Model(
        key="rim_folding",
        subject="wheel",
        quantity="tension at which the rim folds out of its plane over the tension of the build",
        formula="least over n >= 2 waves of K_n/(pi (n^2 - R kappa)) over the inward pull T_bar = sum of n_s T c_2/(2 "
        "pi R); K_n lateral stiffness of rim and spokes in n waves without tension, kappa T_bar what the tension gives "
        "itself",
        sources=(Cited("ford_2018", "Chapter on buckling under tension, equation tcn_lin_nophi."),),
        validity="a true rim; imperfect ones go out of true at about half",
        estimates="rigidities of rims without a measurement",
        not_modelled="flexing of hub and axle, impact",
        functions=("physics.wheel_buckling.critical_pull",),
        checks=("test_ford_2018",),
    ),
    Model(
        key="wheel_stiffness",
        subject="wheel",
        quantity="stiffness of the spoked wheel at one point of the rim, lateral and radial",
        formula="lateral 1/K = 1/(2 pi R k_uu) + sum of 1/K_n, K_n = pi R k_uu + pi/R^3 (n^2 - 1)^2 E I_2 G J n^2/(E "
        "I_2 + G J n^2) - pi n^2 T_bar less the radial-lateral coupling; radial: ring on an elastic foundation of "
        "k_vv; k_ij = sum over the sides of n_s/(2 pi R) (E A c_i c_j/l + T/l (1 or 0 - c_i c_j)), E = 210 GPa, c "
        "direction cosines, E I, G J rigidities of the rim, n waves",
        sources=(
            Cited("ford_2018", "Equations Klat_series, Kn and Krad, smeared spokes."),
            Cited("pippard_1931", "Radially spoked wheel, as cited by Ford."),
            Cited("hetenyi_1946", "Beam on an elastic foundation (soft rim)."),
        ),
        validity="every spoke tensioned; several spokes within the bent length of rim",
        estimates="rigidities of rims without a measurement",
        not_modelled="flexing of hub and axle, the tire",
        functions=("physics.wheel_stiffness.rim_compliance", "physics.spoke_foundation.spoke_foundation"),
        checks=("test_ford_2018", "test_hetenyi_1946", "test_salamon_oldham_1992"),
    ),
    Model(
        key="first_slack_spoke",
        subject="wheel",
        quantity="load or torque at which the first spoke goes slack",
        formula="load: least over both sides of T/(E A/l (c_2 y_vv +- c_1 y_uv)), side load with c_1 y_uu +- c_2 y_uv; "
        "y movement of the rim per load; torque n_s T R c_3 of the driven flange; two share it as n_s E A/l c_3^2, the "
        "lower counts",
        sources=(
            Cited("ford_2018", "Chapter on external loads, equations P_sb and Pc_lat; per side own derivation."),
            Cited("brandt_bicycle_wheel", "Pulling and pushing spokes (torque)."),
        ),
        validity="load at one spoke: on the safe side",
        estimates="tension of the build, rigidities of rims without a measurement",
        not_modelled="the tire, which spreads the load",
        functions=(
            "physics.slack_spokes.first_slack_radial_load",
            "physics.slack_spokes.first_slack_side_load",
            "physics.slack_spokes.first_slack_torque_one_flange",
            "physics.slack_spokes.first_slack_torque_two_flanges",
        ),
        checks=("test_ford_2018",),
    ),
    Model(
        key="spoke_reserve",
        subject="wheel",
        quantity="load or torque of the first slack spoke over what the wheel gets",
        formula="min(load of the first slack spoke/wheel load, its torque/peak torque), at most 1000",
        sources=(Cited("ford_2018", "Chapter on external loads."),),
        validity="static load and peak torque, one at a time",
        assumed=("carcass_share",),
        estimates="tension of the build; grip in the peak torque",
        not_modelled="shocks, side load at the same time",
        functions=("appraisal.braking.Braking.spoke_reserve", "physics.slack_spokes.first_slack_radial_load"),
        checks=("test_ford_2018",),
    ),
    Model(
        key="spoke_stress",
        subject="wheel",
        quantity="how far the stress of the tighter spokes may grow before they tire",
        formula="1/(s_a/(e S) + s_m/S), s_m, s_a mean and amplitude of the stress between T and T - y W, not below 0, "
        "over the thinnest section; S tensile strength, e = 0.25, y tension lost over the wheel load; at most 1000",
        sources=(
            Cited("shigley_9", "Equation 6-46 (Goodman's line)."),
            Cited("shigley_8", "Equations 6-8, 6-19 and 6-26 (endurance)."),
            Cited("ford_2018", "Loss of tension under load."),
        ),
        validity="long run under the static load",
        estimates="endurance e = 0.25 (0.15 to 0.35), tension of the build",
        not_modelled="bending at the elbow, torque, corrosion",
        functions=(
            "physics.spoke_strength.fatigue_reserve",
            "physics.spoke_strength.tension_cycle",
            "physics.slack_spokes.radial_load_shares",
        ),
        checks=("test_ford_2018",),
    ),
    Model(
        key="wheel_inertia",
        subject="wheel",
        quantity="moment of inertia of one wheel with its tire and rotor about the axle",
        formula="m (r_o^2 + r_i^2)/2 for tire, hub, disc wheel and rotor; m r^2 for rim, inner with locks, and "
        "nipples; m (r_1^2 + r_1 r_2 + r_2^2)/3 for spokes; rotors shared out over the wheels",
        sources=(
            Cited("ling_2016", "Moments of inertia; example 11.10."),
            Cited("moore_2012", "Wheels swung as compound pendulums (measured)."),
        ),
        validity="mass spread evenly between the radii of each part",
        estimates="where a part's mass sits",
        functions=("physics.inertia.annulus_inertia", "physics.inertia.ring_inertia", "physics.inertia.spokes_inertia"),
        checks=("test_ling_2016", "test_moore_2012"),
    ),
    Model(
        key="diametral_inertia",
        subject="wheel",
        quantity="moment of inertia of one wheel about its diameter",
        formula="I_d = I/2 + m w^2/12; I about the axle, w section width",
        sources=(Cited(None, "Perpendicular axes."), Cited("meijaard_2007", "Table 1, from memory (check).")),
        validity="mass spread evenly over the width of the tire",
        functions=("physics.inertia.diametral_inertia",),
        checks=("test_meijaard_2007",),
    ),
    Model(
        key="gyroscopic_moment",
        subject="wheel",
        quantity="moment that one spinning wheel opposes to leaning or steering",
        formula="M = I V/R x rate; rate 1 rad/s, at the highest speed of the terrains, R free radius",
        sources=(
            Cited("cossalter_2006", "Gyroscopic moment, from memory."),
            Cited("ling_2016", "Example 11.10 (check)."),
        ),
        validity="rate of lean or steer of 1 rad/s",
        estimates="the rate, own convention",
        functions=("physics.inertia.gyroscopic_moment",),
        checks=("test_ling_2016",),
    ),
)
