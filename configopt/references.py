"""The bibliography: key to full citation, for docstrings, catalogs and the decision sheet.

A key is the author's name or the number of the standard, with the year where several editions matter.  Equation and
table numbers stand where the work is cited, not here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches

from configopt.errors import UsageError


@dataclass(frozen=True, slots=True)
class Reference:
    """One work.

    Attributes
    ----------
    key
        What docstrings, catalogs and results cite.
    citation
        Author, title, publisher or number, year.
    """

    key: str
    citation: str


# Key, a blank, citation; lines that go on are indented.  Grouped by subject, then by key.
_SIZES = """
etrto_2009 European Tyre and Rim Technical Organisation, Standards Manual, 2009.
iso_4249_3 ISO 4249-3, Motorcycle tyres and rims (code-designated series) - Part 3: Rims.
iso_5751_2 ISO 5751-2:2010, Motorcycle tyres and rims (metric series) - Part 2: Tyre dimensions and load-carrying
    capacities.
iso_5775 ISO 5775, Bicycle tyres and rims - Part 1: Tyre designations and dimensions (2023); Part 2: Rims.
iso_8644_2006 ISO 8644:2006, Motorcycles - Light-alloy wheels - Test method.
jaso_t_203_1985 JASO T 203:1985, Light alloy disc wheels for motorcycles.
jis_d_4215 JIS D 4215:1995, Rims for motorcycles (corresponds to ISO 4249-3:1990).
jis_d_9421_2009 JIS D 9421:2009, Bicycles - Rims.
un_r75 United Nations Regulation No. 75, Uniform provisions concerning the approval of pneumatic tyres for motor
    cycles and mopeds.
"""

_TIRE = """
berto_tire_inflation F. Berto, All About Tire Inflation.
cfr_49_571_119 United States Code of Federal Regulations, Title 49, section 571.119, Standard No. 119: New pneumatic
    tires for motor vehicles other than passenger cars.
clark_1978 S. K. Clark, Rolling resistance of pneumatic tires, Tire Science and Technology 6(3), 1978, pp. 163-175.
dressel_sadauckas_2020 A. Dressel, J. Sadauckas, Characterization and modelling of various sized mountain bike tires
    and the effects of tire tread knobs and inflation pressure, Applied Sciences 10(9), 2020, 3156.
fr_77_54836 Federal Motor Vehicle Safety Standards; New pneumatic tires (correction to Table II of Standard No. 119),
    77 Federal Register 54836, 6 September 2012.
muniandy_loh K. Muniandy, Loh Pang Chai, Tyre bead unseating test, Journal of the Rubber Research Institute of
    Malaysia 29(3), pp. 138-145.
nbs_122 S. K. Clark (ed.), Mechanics of Pneumatic Tires, National Bureau of Standards Monograph 122, Washington, 1971.
renart_roura_2019 J. Renart, P. Roura-Grabulosa, American Journal of Physics 87, 2019, p. 102.
rim_slip_2006 Rim slip and bead fitment of tires: analysis and design, Tire Science and Technology 34(1), 2006, p. 38.
rothhaemel_2023 M. Rothhaemel, Measuring vertical tyre stiffness of bicycle tyres, Bicycle and Motorcycle Dynamics
    2023.
smiley_horne_1960 R. F. Smiley, W. B. Horne, Mechanical Properties of Pneumatic Tires with Special Reference to Modern
    Aircraft Tires, NASA Technical Report R-64, 1960.
walter_conant_1974 J. D. Walter, F. S. Conant, Energy losses in tires, Tire Science and Technology 2(4), 1974.
"""

_ROLLING = """
bradley_1996 J. Bradley, The Racing Motorcycle: A Technical Guide for Constructors, Broadland Leisure Publications,
    1996.
carvill J. Carvill, Mechanical Engineer's Data Handbook, Butterworth-Heinemann.
cfr_86_529 United States Code of Federal Regulations, Title 40, section 86.529-98, Road load force and inertia weight
    determination.
eu_134_2014 Commission Delegated Regulation (EU) No 134/2014, environmental and propulsion unit performance
    requirements of two- or three-wheel vehicles and quadricycles.
gillespie_1992 T. D. Gillespie, Fundamentals of Vehicle Dynamics, Society of Automotive Engineers, 1992.
iso_28580_2018 ISO 28580:2018, Passenger car, truck and bus tyre rolling resistance measurement method - Single point
    test and correlation of measurement results.
macdermid_2015 P. W. Macdermid, P. W. Fink, S. R. Stannard, Journal of Sports Sciences 33(3), 2015, pp. 277-285.
marks Marks' Standard Handbook for Mechanical Engineers, McGraw-Hill (rolling resistance figures after Moyer).
sae_j2452 SAE J2452, Stepwise Coastdown Methodology for Measuring Tire Rolling Resistance, SAE International.
un_gtr_2 United Nations Global Technical Regulation No. 2, Measurement procedure for two-wheeled motorcycles equipped
    with a positive or compression ignition engine with regard to emissions and fuel consumption.
un_r117 United Nations Regulation No. 117, Uniform provisions concerning the approval of tyres with regard to rolling
    sound emissions, adhesion on wet surfaces and rolling resistance.
"""

_SOIL = """
arvidsson_keller_2007 J. Arvidsson, T. Keller, Soil stress as affected by wheel load and tyre inflation pressure, Soil
    and Tillage Research 96, 2007, pp. 284-291.
asabe_d497 ASABE D497 (formerly ASAE D497), Agricultural Machinery Management Data, American Society of Agricultural
    and Biological Engineers.
bekker_1956 M. G. Bekker, Theory of Land Locomotion, University of Michigan Press, 1956.
bekker_1969 M. G. Bekker, Introduction to Terrain-Vehicle Systems, University of Michigan Press, 1969.
brixius_1987 W. W. Brixius, Traction prediction equations for bias ply tires, ASAE Paper 87-1622, 1987.
freitag_1965 D. R. Freitag, A Dimensional Analysis of the Performance of Pneumatic Tires on Soft Soils, US Army
    Engineer Waterways Experiment Station, Technical Report 3-688, 1965.
gee_clough_1978 D. Gee-Clough, M. McAllister, G. Pearson, D. W. Evernden, The empirical prediction of
    tractor-implement field performance, Journal of Terramechanics 15(2), 1978, pp. 81-94.
janosi_hanamoto_1961 Z. Janosi, B. Hanamoto, The analytical determination of drawbar pull as a function of slip for
    tracked vehicles in deformable soils, Proceedings of the 1st International Conference on the Mechanics of
    Soil-Vehicle Systems, Turin, 1961.
larminie_1992 J. C. Larminie, Modifications to the mean maximum pressure system, Journal of Terramechanics 29(2),
    1992, pp. 239-255.
maclaurin_1990 E. B. Maclaurin, The use of mobility numbers to describe the in-field tractive performance of pneumatic
    tyres, Proceedings of the 10th International Conference of the ISTVS, Kobe, 1990.
maclaurin_1997 E. B. Maclaurin, Proposed revisions to mean maximum pressure and the vehicle limiting cone index,
    Proceedings of the 7th European ISTVS Conference, 1997.
meirion_griffith_spenko G. Meirion-Griffith, M. Spenko, A modified pressure-sinkage model for small, rigid wheels on
    deformable terrains, Journal of Terramechanics 48(2), 2011, pp. 149-155.
misiewicz_2016 P. A. Misiewicz et al., Biosystems Engineering 147, 2016, pp. 183-192.
priddy_2006 J. D. Priddy, W. E. Willoughby, Clarification of vehicle cone index with reference to mean maximum
    pressure, Journal of Terramechanics 43(2), 2006, pp. 85-96.
richmond_1995 P. W. Richmond, Motion Resistance of Wheeled Vehicles in Snow, US Army CRREL Report 95-7, 1995.
richmond_shoop_1995 P. W. Richmond, S. A. Shoop, G. L. Blaisdell, Cold Regions Mobility Models, US Army CRREL Report
    95-1, 1995.
rowland_1972 D. Rowland, Tracked vehicle ground pressure and its effect on soft ground performance, Proceedings of the
    4th International Conference of the ISTVS, Stockholm, 1972.
rowland_1975 D. Rowland, A review of vehicle design for soft-ground operation, Proceedings of the 5th International
    Conference of the ISTVS, Detroit, 1975.
turnage_1972 G. W. Turnage, Performance of Soils under Tire Loads, US Army Engineer Waterways Experiment Station,
    Technical Report 3-666, Report 8, 1972.
turnage_1978 G. W. Turnage, A synopsis of tire design and operational considerations aimed at increasing in-soil tire
    drawbar performance, Proceedings of the 6th International Conference of the ISTVS, Vienna, 1978.
wismer_luth_1974 R. D. Wismer, H. J. Luth, Off-road traction prediction for wheeled vehicles, Transactions of the ASAE
    17(1), 1974, pp. 8-10, 14.
wong_1993 J. Y. Wong, Theory of Ground Vehicles, 2nd ed., John Wiley & Sons, 1993.
wong_2001 J. Y. Wong, Theory of Ground Vehicles, 3rd ed., John Wiley & Sons, 2001.
wong_2008 J. Y. Wong, Theory of Ground Vehicles, 4th ed., John Wiley & Sons, 2008.
"""

_ROUGHNESS_AND_GRIP = """
iso_8608_2016 ISO 8608:2016, Mechanical vibration - Road surface profiles - Reporting of measured data.
milliken_1995 W. F. Milliken, D. L. Milliken, Race Car Vehicle Dynamics, Society of Automotive Engineers, 1995.
noon_1994 R. K. Noon, Engineering Analysis of Vehicular Accidents, CRC Press, 1994.
young_freedman_2004 H. D. Young, R. A. Freedman, University Physics, 11th ed., Addison-Wesley, 2004.
zuo_zhang_2013 L. Zuo, P.-S. Zhang, Energy harvesting, ride comfort, and road handling of regenerative vehicle
    suspensions, Journal of Vibration and Acoustics 135(1), 2013, 011002.
"""

_VEHICLE = """
ansi_svia_1 ANSI/SVIA 1, American National Standard for Four Wheel All-Terrain Vehicles, Specialty Vehicle Institute
    of America.
burgess_lodge_2004 S. C. Burgess, C. Lodge, Optimisation of the chain drive system on sports motorcycles, Sports
    Engineering 7, 2004, pp. 65-73.
cossalter_2006 V. Cossalter, Motorcycle Dynamics, 2nd ed., 2006.
fr_89_4188 Consumer Product Safety Commission, 16 CFR part 1420, Requirements for All Terrain Vehicles, 89
    Federal Register 4188, 23 January 2024.
iso_2533_1975 ISO 2533:1975, Standard Atmosphere.
katz_automotive J. Katz, Automotive Aerodynamics, John Wiley & Sons, 2016.
ling_2016 S. J. Ling, J. Sanny, W. Moebs, University Physics, volume 1, OpenStax, 2016.
meijaard_2007 J. P. Meijaard, J. M. Papadopoulos, A. Ruina, A. L. Schwab, Linearized dynamics equations for the
    balance and steer of a bicycle: a benchmark and review, Proceedings of the Royal Society A 463, 2007, pp.
    1955-1982.
moore_2012 J. K. Moore, Human Control of a Bicycle, PhD thesis, University of California, Davis, 2012.
sharp_1971 R. S. Sharp, The stability and control of motorcycles, Journal of Mechanical Engineering Science 13(5),
    1971, pp. 316-329.
sharp_2004 R. S. Sharp, S. Evangelou, D. J. N. Limebeer, Advances in the modelling of motorcycle dynamics, Multibody
    System Dynamics 12, 2004, pp. 251-283.
sharp_granger_2003 R. S. Sharp, R. Granger, On car steering torques at parking speeds, Proceedings of the Institution
    of Mechanical Engineers D 217, 2003, pp. 87-96.
urone_2012 P. P. Urone, R. Hinrichs, College Physics, OpenStax, 2012.
us_standard_atmosphere_1976 U.S. Standard Atmosphere, 1976, NOAA, NASA and USAF, Washington, 1976.
"""

_BRAKES = """
cfr_49_571_116 United States Code of Federal Regulations, Title 49, section 571.116, Standard No. 116: Motor vehicle
    brake fluids.
cfr_49_571_122 United States Code of Federal Regulations, Title 49, section 571.122, Standard No. 122: Motorcycle
    brake systems.
directive_93_14 Council Directive 93/14/EEC of 5 April 1993 on the braking of two or three-wheel motor vehicles, as
    amended by Commission Directive 2006/27/EC.
ecker_2001 H. Ecker, J. Wassermann et al., Braking deceleration of motorcycle riders, International Motorcycle Safety
    Conference, 2001.
eu_168_2013 Regulation (EU) No 168/2013 on the approval and market surveillance of two- or three-wheel vehicles and
    quadricycles.
eu_2014_45 Directive 2014/45/EU on periodic roadworthiness tests for motor vehicles and their trailers.
juvinall_marshek R. C. Juvinall, K. M. Marshek, Fundamentals of Machine Component Design, John Wiley & Sons.
kreith F. Kreith, Principles of Heat Transfer.
limpert R. Limpert, Brake Design and Safety, SAE International.
limpert_2008 R. Limpert, Motorcycle Braking Dynamics, 2008.
orthwein W. C. Orthwein, Clutches and Brakes: Design and Selection.
sae_j866 SAE J866, Friction Identification System for Brake Linings, SAE International.
shigley_8 R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 8th ed., McGraw-Hill, 2008.
tribology_handbook M. J. Neale (ed.), Tribology Handbook, Butterworth-Heinemann.
ugural A. C. Ugural, Mechanical Design: An Integrated Approach, McGraw-Hill.
un_gtr_3 United Nations Global Technical Regulation No. 3, Motorcycle brake systems.
un_r78 United Nations Regulation No. 78, Uniform provisions concerning the approval of vehicles of categories L1, L2,
    L3, L4 and L5 with regard to braking.
un_r90 United Nations Regulation No. 90, Uniform provisions concerning the approval of replacement brake lining
    assemblies, drum brake linings, discs and drums.
wagner_1948 C. Wagner, Heat transfer from a rotating disk to ambient air, Journal of Applied Physics 19, 1948, pp.
    837-839.
"""

_WHEEL = """
brandt_bicycle_wheel J. Brandt, The Bicycle Wheel, Avocet.
burgoyne_1993 C. J. Burgoyne, R. Dilmaghanian, Bicycle wheel as prestressed structure, Journal of Engineering
    Mechanics 119(3), 1993, pp. 439-455.
ford_2018 M. Ford, Reinventing the Wheel: Stress Analysis, Stability, and Optimization of the Bicycle Wheel, PhD
    thesis, Northwestern University, 2018.
gavin_1996 H. P. Gavin, Bicycle-wheel spoke patterns and spoke fatigue, Journal of Engineering Mechanics 122(8), 1996,
    pp. 736-742.
hetenyi_1946 M. Hetenyi, Beams on Elastic Foundation, University of Michigan Press, 1946.
iso_4210_2 ISO 4210-2, Cycles - Safety requirements for bicycles - Part 2.
iso_4210_4 ISO 4210-4, Cycles - Safety requirements for bicycles - Part 4: Braking test methods.
iso_4210_7 ISO 4210-7, Cycles - Safety requirements for bicycles - Part 7: Wheel and rim test methods.
iso_7141 ISO 7141, Road vehicles - Light alloy wheels - Impact test.
iso_898_1_2013 ISO 898-1:2013, Mechanical properties of fasteners made of carbon steel and alloy steel - Part 1: Bolts,
    screws and studs with specified property classes - Coarse thread and fine pitch thread.
jis_d_9301_2019 JIS D 9301:2019, Bicycles for general use.
mcmahon_graham_1992 T. A. McMahon, A. Graham, The Bicycle and the Walkman, 1992.
norton_machine_design R. L. Norton, Machine Design: An Integrated Approach, Prentice Hall.
pippard_1931 A. J. S. Pippard, W. E. Francis, On a theoretical and experimental investigation of the stresses in a
    radially spoked wire wheel under loads applied to the rim, Philosophical Magazine 11, 1931, pp. 233-285.
salamon_oldham_1992 N. J. Salamon, R. A. Oldham, Analysis for design of spoked bicycle wheels, Finite Elements in
    Analysis and Design 10, 1992.
shigley_9 R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., McGraw-Hill, 2011.
timoshenko S. P. Timoshenko, Strength of Materials, Van Nostrand.
timoshenko_gere_1961 S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd ed., McGraw-Hill, 1961.
"""

_COST = """
collier_1981 D. A. Collier, The measurement and operating benefits of component part commonality, Decision Sciences
    12(1), 1981, pp. 85-96.
kerzner H. Kerzner, Project Management: A Systems Approach to Planning, Scheduling, and Controlling, John Wiley &
    Sons.
render_quantitative B. Render, R. M. Stair, M. E. Hanna, Quantitative Analysis for Management, Pearson.
thevenot_simpson_2006 H. J. Thevenot, T. W. Simpson, Commonality indices for product family design: a detailed
    comparison, Journal of Engineering Design 17(2), 2006, pp. 99-119.
wacker_treleven_1986 J. G. Wacker, M. Treleven, Component part standardization: an analysis of commonality sources and
    indices, Journal of Operations Management 6(2), 1986, pp. 219-244.
wright_1936 T. P. Wright, Factors affecting the cost of airplanes, Journal of the Aeronautical Sciences 3(4), 1936,
    pp. 122-128.
"""

_UNITS = """
bipm_2019 Bureau International des Poids et Mesures, The International System of Units (SI), 9th ed., 2019.
nist_sp_811 A. Thompson, B. N. Taylor, Guide for the Use of the International System of Units (SI), NIST Special
    Publication 811, 2008.
"""

_ALL = _SIZES + _TIRE + _ROLLING + _SOIL + _ROUGHNESS_AND_GRIP + _VEHICLE + _BRAKES + _WHEEL + _COST + _UNITS

REFERENCES: dict[str, Reference] = {
    key: Reference(key, citation)
    for key, _, citation in (" ".join(work.split()).partition(" ") for work in re.split(r"\n(?! )", _ALL) if work)
}


def cite(key: str) -> str:
    """Look up a citation.

    Parameters
    ----------
    key
        A key of the bibliography.

    Returns
    -------
    str
        Author, title, publisher or number, year.

    Raises
    ------
    UsageError
        If there is no such key; the message names the nearest ones.

    Examples
    --------
    >>> cite("wong_2008")
    'J. Y. Wong, Theory of Ground Vehicles, 4th ed., John Wiley & Sons, 2008.'
    """
    if key not in REFERENCES:
        close = get_close_matches(key[:100], REFERENCES, n=3)
        hint = f"did you mean {' or '.join(close)}?" if close else "keys are listed in configopt/references.py"
        raise UsageError(f'there is no "{key[:100]}" in the bibliography; {hint}')
    return REFERENCES[key].citation
