"""Models of torques and brakes."""

from __future__ import annotations

from configopt.appraisal.model_record import Cited, Model

_STATICS = Cited("limpert_2008", "Equations 1 and 2 (wheel loads while braking).")
_LIMPERT_HEAT = Cited("limpert", "Chapter 3, heat of stops and of continuous braking, from memory; radiation added.")
_CONVECTION = Cited("limpert", "Convection of solid rotors, from memory.")
_EMISSIVITIES = (
    "emissivity of track 0.25 (0.15 to 0.6) and carrier 0.8 (0.6 to 0.95), factor on the convection 1 (0.6 to 1.6)"
)
_ROTOR_LIMITS = "one lumped mass at its wear limit; solid steel rotors"
_NO_FADE = "fade, fluid, heat into pads and caliper, differences along the radius"
#: Assumed figures behind the footings' own resistance, which helps to hold a descent.
_HELPED = ("carcass_share", "rolling_exponent", "rut_factor")

BRAKE_MODELS: tuple[Model, ...] = (
    Model(
        key="brake_torque",
        subject="torque and brakes",
        quantity="brake torque of one wheel at the stated hand force",
        formula="T = 2 mu N r_e n_r/n_w, N = p n pi d_c^2/4, p = F i/(pi d_m^2/4), r_e = D_r/2 - pad height/2; F hand "
        "force, i lever ratio, d_m, d_c, n diameter of master and caliper pistons and pistons on one side, mu "
        "friction of the pad, D_r rotor diameter, n_r, n_w rotors and wheels of the axle",
        sources=(
            Cited("shigley_8", "Section 16-6, uniform wear, from memory."),
            Cited("limpert", "Hydraulic brake system and disc brake analysis, from memory."),
        ),
        validity="worn-in pads; pad pressures of light calipers lie above the handbook's (remark)",
        not_modelled="losses in lever, line and seals, fade, water",
        functions=(
            "physics.brakes.brake_torque",
            "physics.brakes.clamp_force",
            "physics.brakes.line_pressure",
            "physics.materials.PAD_MATERIALS",
        ),
        checks=("test_shigley", "test_ugural", "test_tribology_handbook"),
    ),
    Model(
        key="grip_torque",
        subject="torque and brakes",
        quantity="torque at which one wheel slides on a terrain",
        formula="T = F R; F grip at the load while braking (front) or driving (rear) at the wheel's own static grip "
        "a = g F_0/W_0, on soft ground its friction too; R loaded radius under that load",
        sources=(Cited("milliken_1995", "Chapter 2, load sensitivity (form)."), _STATICS),
        validity="level ground",
        assumed=("carcass_share",),
        estimates="those of the grip",
        not_modelled="inertia of the wheel",
        functions=("physics.grip.friction_force", "physics.loads.axle_loads"),
        checks=("test_milliken_1995", "test_limpert_2008"),
    ),
    Model(
        key="peak_torque",
        subject="torque and brakes",
        quantity="largest torque that one wheel sees",
        formula="T = min(largest grip torque of all terrains, max(brake torque, motor torque M i eta/n of a driven "
        "wheel))",
        sources=(Cited(None, "Balance of torques."),),
        validity="what brake, motor and the grippiest terrain can do at most",
        assumed=("carcass_share",),
        estimates="those of the grip",
        not_modelled="shocks of landing and of the drive",
        functions=("appraisal.braking.Braking.peak_torque",),
    ),
    Model(
        key="bead_torque",
        subject="torque and brakes",
        quantity="torque that beads and rim locks hold before the tire creeps",
        formula="T = y (T_fit + 2 mu r_b pi (r_m^2 - r_b^2) q) + locks x torque of one, r_m = r_b + H/2; r_b bead "
        "radius, H section height, q pressure, mu friction between bead and rim, y share left at the ground",
        sources=(Cited("rim_slip_2006", "Abstract: linear in pressure. The factors are an own estimate."),),
        validity="three answers: holds at the low end of the friction, at the middle, or not",
        assumed=("bead_friction", "bead_unevenness"),
        estimates="friction 0.2 (0.1 to 0.5), share left 0.5 (0.35 to 0.65), tight fit 0 where the catalog has none, "
        "torque of a rim lock",
        not_modelled="water and dirt on the seat, ageing",
        functions=("physics.creep.creep_torque",),
    ),
    Model(
        key="creep_margin",
        subject="torque and brakes",
        quantity="torque that the bead holds over the peak wheel torque",
        formula="bead torque at the middle of its range over peak wheel torque",
        sources=(Cited("rim_slip_2006", "Abstract (form of the bead torque)."),),
        validity="see both torques; below the marked pressure always a caution",
        assumed=("bead_friction", "bead_unevenness", "carcass_share"),
        estimates="those of the bead torque; margin 1.3 as a default limit",
        functions=("physics.creep.creep_torque", "appraisal.braking.Braking.creep_margin"),
    ),
    Model(
        key="hub_torque",
        subject="torque and brakes",
        quantity="torque that the hub may carry over the peak wheel torque",
        formula="rated torque of the hub over peak wheel torque",
        sources=(Cited(None, "Rating of the hub's maker in the catalog."),),
        validity="as the maker rates it",
        assumed=("carcass_share",),
        estimates="those of the grip in the peak torque",
        not_modelled="pins, bolts and threads of the drive interface",
        functions=("appraisal.braking.Braking.hub_margin",),
    ),
    Model(
        key="brake_torque_reserve",
        subject="torque and brakes",
        quantity="brake torque over the torque that the ground can take",
        formula="T_brake/(F R); F grip, R loaded radius, front under its load while braking at its own static grip, "
        "rear under its static load",
        sources=(
            Cited("milliken_1995", "Chapter 2, load sensitivity (form)."),
            _STATICS,
            Cited("shigley_8", "Section 16-6 (torque), from memory."),
        ),
        validity="level ground, worn-in cold brakes",
        assumed=("carcass_share",),
        estimates="those of the grip; reserve 1.2 as a default limit",
        not_modelled="fade, water",
        functions=("physics.grip.friction_force", "physics.loads.axle_loads", "physics.brakes.brake_torque"),
        checks=("test_milliken_1995", "test_limpert_2008", "test_shigley"),
    ),
    Model(
        key="deceleration",
        subject="torque and brakes",
        quantity="hardest deceleration with both brakes at the stated hand force",
        formula="a = min((n_f min(F_f, T_f/R_f) + n_r min(F_r, T_r/R_r))/m, g (L - b)/h), grips F at the loads of that "
        "a; T brake torque of one wheel, R loaded radius at rest, n wheels, b, h centre of gravity",
        sources=(_STATICS, Cited("milliken_1995", "Chapter 2, load sensitivity (form).")),
        validity="level firm ground, straight ahead",
        assumed=("carcass_share",),
        estimates="those of the grip",
        not_modelled="reaction time, fade, resistance of ground and air, the rider's moving about, grip lost as loads "
        "change on rough ground",
        functions=("physics.loads.axle_loads", "physics.grip.friction_force"),
        checks=("test_limpert_2008", "test_milliken_1995"),
    ),
    Model(
        key="statutory_deceleration",
        subject="torque and brakes",
        quantity="deceleration with one brake alone, laden, on a dry road, over the required one",
        formula="min(0.9 W n, n_r T/R)/(m a_req), 0 where the other axle would lift; W wheel load at a_req, n wheels, "
        "n_r rotors, T torque of one rotor, R loaded radius",
        sources=(
            Cited("directive_93_14", "Annex, Appendix 1, section 2.1.2 (L1 to L4)."),
            Cited("un_r78", "03 series, Annex 3, section 3.3 (L5), from memory."),
        ),
        validity="categories L1, L2, L3 and L5, laden, friction 0.9",
        assumed=("carcass_share",),
        estimates="loaded radius through the casing pressure",
        not_modelled="the test itself: speed, fade, wet brakes, the tester",
        functions=("physics.statutory.statutory_row", "physics.loads.axle_loads"),
        checks=("test_directive_93_14_eec", "test_un_r78"),
    ),
    Model(
        key="lift_off",
        subject="torque and brakes",
        quantity="deceleration at which the rear wheel lifts, over gravity",
        formula="a/g = (L - b)/h; L wheelbase, b distance ahead of the rear axle and h height of the centre of gravity",
        sources=(Cited("cossalter_2006", "Stoppie, from memory."), _STATICS),
        validity="level ground, rigid suspension",
        not_modelled="dive of the fork, the rider's moving about",
        functions=("physics.loads.axle_loads",),
        checks=("test_limpert_2008",),
    ),
    Model(
        key="descent_heat",
        subject="torque and brakes",
        quantity="heat into one rotor while holding a speed downhill",
        formula="P = (m g sin t - R - F_air) V s/n; R resistance of the footings, s share of the axle (the stated one, "
        "else that of its load), n rotors",
        sources=(_LIMPERT_HEAT, Cited("urone_2012", "Section 14.2, brakes of a descending truck.")),
        validity="steady speed; regeneration never counts",
        assumed=_HELPED,
        estimates="share by load where none is stated",
        not_modelled="roughness of the descent, heat into the pads",
        functions=("appraisal.braking.Braking.descent_heat",),
    ),
    Model(
        key="stop_heat",
        subject="torque and brakes",
        quantity="heat into one rotor in one stop",
        formula="E = (m + sum I/R^2) V^2/2 s/n; s share of the axle, n rotors",
        sources=(_LIMPERT_HEAT,),
        validity="no resistance helps; regeneration never counts",
        estimates="share by load where none is stated",
        not_modelled="resistance of ground and air, heat into the pads",
        functions=("appraisal.braking.Braking.stop_heat",),
    ),
    Model(
        key="rotor_heat_capacity",
        subject="torque and brakes",
        quantity="heat that warms the worn rotor's track by one kelvin",
        formula="C = pi h (D - h) t rho c; h track height, D rotor diameter, t least thickness in service, rho "
        "density, c specific heat of the steel",
        sources=(Cited(None, "Geometry; densities and specific heats of the steelmakers' data sheets."),),
        validity="track alone, at its wear limit",
        not_modelled="cut-outs of the track, carrier, rise of the specific heat with temperature",
        functions=("physics.rotor_heat.heat_capacity", "physics.rotor_heat.track_area"),
    ),
    Model(
        key="rotor_temperature",
        subject="torque and brakes",
        quantity="rotor temperature at the end of a descent",
        formula="C dT/dt = P - h A (T - T_a) - sigma (e_1 A_1 + e_2 A_2)(T^4 - T_a^4), h = f 0.70 (k/D) Re^0.55 (Re = "
        "V D/nu up to 2.4e5, else f 0.04 (k/D) Re^0.8), A = A_1 + A_2; f from the rotor's cooling test, else 1, A_1 "
        "track, A_2 carrier, both faces, k = 0.0257 W/(m K), nu = 15.1e-6 m2/s",
        sources=(_LIMPERT_HEAT, _CONVECTION),
        validity=_ROTOR_LIMITS,
        assumed=("convection", "track_emissivity", "rest_emissivity", *_HELPED),
        estimates=_EMISSIVITIES,
        not_modelled=_NO_FADE,
        functions=(
            "physics.rotor_descent.descent_temperature",
            "physics.rotor_cooling.solid_rotor_convection",
            "physics.rotor_heat.drag_rise",
        ),
        checks=("test_limpert", "test_limpert_heat"),
    ),
    Model(
        key="repeated_stops",
        subject="torque and brakes",
        quantity="rotor temperature after repeated stops",
        formula="each of n stops adds E/C at once; between two stops C dT/dt = - h A (T - T_a) - sigma (e_1 A_1 + e_2 "
        "A_2)(T^4 - T_a^4), h at half the speed of the stops",
        sources=(_LIMPERT_HEAT, _CONVECTION),
        validity=_ROTOR_LIMITS,
        assumed=("convection", "track_emissivity", "rest_emissivity"),
        estimates=f"{_EMISSIVITIES}; cooling at half the speed",
        not_modelled=_NO_FADE,
        functions=(
            "physics.rotor_descent.stops_temperature",
            "physics.rotor_cooling.solid_rotor_convection",
            "physics.rotor_heat.repeated_stops_rise",
        ),
        checks=("test_limpert", "test_limpert_heat"),
    ),
    Model(
        key="rotor_temperature_margin",
        subject="torque and brakes",
        quantity="temperature that the brake may reach over what it reaches, both above ambient",
        formula="(T_max - T_a)/(T - T_a); T_max the lower of what steel and pad stand",
        sources=(
            _LIMPERT_HEAT,
            Cited(None, "Limits of the rotor steels: steelmakers' data sheets and brake-disc patents (catalog)."),
            Cited("tribology_handbook", "Table 8.10, pads."),
        ),
        validity=_ROTOR_LIMITS,
        assumed=("convection", "track_emissivity", "rest_emissivity", *_HELPED),
        estimates=f"{_EMISSIVITIES}; limit of the plain steel grade",
        not_modelled=_NO_FADE,
        functions=(
            "physics.rotor_descent.descent_temperature",
            "physics.rotor_cooling.solid_rotor_convection",
            "physics.materials.ROTOR_STEELS",
            "physics.materials.PAD_MATERIALS",
        ),
        checks=("test_tribology_handbook", "test_limpert"),
    ),
)
