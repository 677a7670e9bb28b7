"""The works, standards and decisions that the numbers of the registry rest on.

Citations give author, year and journal or standard as far as they are known. How well a figure of such a work is known is said
by the status of each constant, not here: most of these works were seen as abstracts or through the report of another author.
"""

from collum.evidence.registry import Reference

_OURS: tuple[Reference, ...] = (
    Reference(key="collum_decision", citation="Decision of the Collum developers; grounds in docs/theory and docs/decisions"),
    Reference(
        key="common_practice", citation="Common practice: taught and used at the chair, no single published origin known"
    ),
    Reference(
        key="open_chart_figures", citation="Openly published six-site periodontal charts of 148 people; summary figures only"
    ),
)

_ATTACHMENT: tuple[Reference, ...] = (
    Reference(key="schmidt2013", citation="Schmidt et al. 2013, J Clin Periodontol 40:493"),
    Reference(key="gargiulo1961", citation="Gargiulo et al. 1961, J Periodontol 32:261"),
    Reference(key="vacek1994", citation="Vacek et al. 1994, Int J Periodontics Restorative Dent 14:154"),
    Reference(
        key="impression_chapter",
        citation="Textbook chapter 'Impression techniques' (histologic ranges of the dentogingival unit)",
    ),
    Reference(key="arora2013_height", citation="Arora et al. 2013, Int J Periodontics Restorative Dent, doi 10.11607/prd.1501"),
    Reference(
        key="gingiva_cbct_2021",
        citation="Dentogingival height and thickness on soft-tissue cone-beam images, 25 young adults, 2021, PMC8517686",
    ),
    Reference(key="kan2017", citation="Kan et al. 2017, Int J Periodontics Restorative Dent 37:371"),
    Reference(
        key="jpid22",
        citation="Supraosseous gingival tissue after crown lengthening, 20 teeth, J Adv Periodontol Implant Dent",
    ),
    Reference(key="appl_sci2022", citation="Review on margin and cemento-enamel junction, Appl Sci 2022;12:7015"),
    Reference(key="yang2020", citation="Yang et al. 2020, papilla dimensions on cone-beam images, 27 young Chinese adults"),
    Reference(key="ingber1977", citation="Ingber et al. 1977, on the biologic width in restorative work"),
    Reference(key="nevins_skurow1984", citation="Nevins & Skurow 1984, Int J Periodontics Restorative Dent 4:30"),
    Reference(key="assif1991", citation="Assif et al. 1991, J Prosthet Dent 65:62"),
    Reference(key="wagenberg1989", citation="Wagenberg et al. 1989"),
    Reference(key="kois1994", citation="Kois 1994, crest classes by facial margin-to-crest distance"),
    Reference(key="tarnow1992", citation="Tarnow et al. 1992, J Periodontol 63:995"),
)

_REGROWTH: tuple[Reference, ...] = (
    Reference(key="dominguez2020", citation="Dominguez et al. 2020, Clin Oral Investig, doi 10.1007/s00784-020-03239-y"),
    Reference(key="arora2013", citation="Arora et al. 2013, J Periodontol 84:934"),
    Reference(key="deas2004", citation="Deas et al. 2004, J Periodontol 75:1288"),
    Reference(key="pontoriero2001", citation="Pontoriero & Carnevale 2001, J Periodontol 72:841"),
    Reference(key="lanning2003", citation="Lanning et al. 2003, J Periodontol 74:468"),
    Reference(key="bragger1992", citation="Bragger et al. 1992, J Clin Periodontol 19:58"),
    Reference(key="shobha2010", citation="Shobha et al. 2010, biologic width after crown lengthening, 15 patients"),
    Reference(key="ribeiro2014", citation="Ribeiro et al. 2014, J Periodontol"),
    Reference(key="pilalas2016", citation="Pilalas et al. 2016, J Clin Periodontol, doi 10.1111/jcpe.12617"),
    Reference(key="alsowygh2019", citation="AlSowygh 2019, J Prosthodont, doi 10.1111/jopr.12909"),
    Reference(key="silva2015", citation="Silva et al. 2015, J Clin Periodontol 42:1126"),
    Reference(key="aroni2019", citation="Aroni et al. 2019, case series of 6"),
    Reference(
        key="klug_dogs", citation="Klug, electrosurgery in dogs, as reported by Coelho, Cavallaro & Rothschild, J Prosthet Dent"
    ),
    Reference(
        key="coelho",
        citation="Coelho, Cavallaro & Rothschild, recession after electrosurgery for impressions, J Prosthet Dent",
    ),
    Reference(key="wilhelmsen", citation="Effects of electrosurgery on the gingival attachment in rhesus monkeys (Wilhelmsen)"),
    Reference(key="wennstrom1983", citation="Wennstrom 1983, J Clin Periodontol 10:287"),
    Reference(key="appl_sci2023", citation="Laser gingivectomy before prosthetics, Appl Sci 2023;13:5527"),
    Reference(
        key="diode_laser_trial",
        citation="The use of diode laser in esthetic crown lengthening, randomised controlled trial, 18 patients, split mouth",
    ),
    Reference(key="monefeldt1977", citation="Monefeldt & Zachrisson 1977"),
    Reference(key="proestakis1992", citation="Proestakis et al. 1992, J Clin Periodontol 19:497"),
)

_MEASUREMENT: tuple[Reference, ...] = (
    Reference(key="wang_thesis", citation="Wang, thesis on the repeatability of probing, 1,206 sites of 15 patients"),
    Reference(key="andrade2012", citation="Andrade et al. 2012, Braz Oral Res 26:57"),
    Reference(key="polson1980", citation="Polson et al. 1980, J Clin Periodontol 7:479"),
    Reference(key="probing_pressure_review", citation="Review of probing pressure and tip diameter"),
    Reference(key="spear2015", citation="Spear 2015, Biologic width, part III (teaching page)"),
    Reference(
        key="scan_cbct2022", citation="Margin-to-crest by scan and cone-beam image against probing, 11 patients, Sci Rep 2022"
    ),
    Reference(key="sounding_defects", citation="Bone sounding against surgery in 90 vertical defects"),
    Reference(key="cbct_buccal_crest", citation="Buccal bone height on cone-beam images against direct measurement, 65 teeth"),
    Reference(
        key="cbct_lower_front",
        citation="Bone height of lower front teeth on cone-beam images, 8 heads, Am J Orthod Dentofacial Orthop 2012",
    ),
    Reference(key="cbct_defect_review", citation="Review of cone-beam images of periodontal defects, 14 studies"),
    Reference(key="hausmann1991", citation="Hausmann et al. 1991, J Periodontol 62:570"),
    Reference(key="kallestal_matsson1989", citation="Kallestal & Matsson 1989"),
    Reference(key="film_calibration", citation="Calibration of periapical films with a known length, free hand and with a jig"),
    Reference(key="film_repeatability", citation="Repeatability of the distance junction to crest on films, 51 subjects"),
    Reference(key="beam_angle", citation="Effect of beam angle on the crest level in films"),
    Reference(key="lazzerini1996", citation="Lazzerini et al. 1996, magnification of film, sensor and panoramic image"),
)

_PHENOTYPE: tuple[Reference, ...] = (
    Reference(key="thickness_rule", citation="Gingival phenotype as a binary rule at 1.0 mm, Angle Orthod 93(6):675"),
    Reference(key="claffey_shanley1986", citation="Claffey & Shanley 1986"),
    Reference(key="frost2015", citation="Frost et al. 2015, J Periodontol 86:1141"),
    Reference(key="derouck2009", citation="De Rouck et al. 2009, on probe visibility and phenotype"),
    Reference(key="lang_loe1972", citation="Lang & Loe 1972, J Periodontol 43:623"),
    Reference(key="maynard_wilson1979", citation="Maynard & Wilson 1979"),
    Reference(key="workshop2017", citation="World workshop on periodontal classification 2017"),
)

_HEALING_TIME: tuple[Reference, ...] = (
    Reference(
        key="six_fourteen_weeks2023",
        citation="Six against fourteen weeks to the prosthesis, pilot trial, Oral Maxillofac Surg 2023, 18 patients",
    ),
    Reference(
        key="early_crown2022", citation="Crown at 2.5 against 12 weeks after lengthening, BMC Oral Health 2022, 21 crowns"
    ),
    Reference(key="expert_answer2014", citation="Expert answer on waiting after gingivectomy, 2014"),
    Reference(key="laufer1994", citation="Laufer et al. 1994, sulcus width and defects of impressions in vitro"),
    Reference(key="laufer1997", citation="Laufer et al. 1997, J Oral Rehabil 24:629"),
    Reference(key="sulcus_width2012", citation="Sulcus width and impression quality, J Indian Prosthodont Soc 2012"),
    Reference(key="retraction_review2018", citation="Review of gingival retraction, Dental Update 2018"),
    Reference(key="cord_time", citation="Time of retraction cord before the impression, 46 premolars"),
    Reference(
        key="scan_depth_trial", citation="Trial of intraoral scan against impression by depth of the finish line, 60 teeth"
    ),
    Reference(key="ruel1980", citation="Ruel et al. 1980"),
    Reference(key="azzi1983", citation="Azzi et al. 1983"),
)

_FINISH_LINE: tuple[Reference, ...] = (
    Reference(
        key="examzify", citation="Question bank for a board examination in general dentistry (rules on sulcus depth and margin)"
    ),
    Reference(key="quint_keyword", citation="Publisher's keyword page on crest classes and margin depth"),
    Reference(key="drinstitute", citation="Teaching page of a dental institute on the periodontal and restorative interface"),
    Reference(key="soprovas", citation="Public examination question on margin, healthy gingiva and crest"),
    Reference(key="subgingival_review", citation="Review of 21 studies on subgingival crown margins and inflammation"),
    Reference(key="grossmann_sadan2005", citation="Grossmann & Sadan 2005, J Prosthet Dent, on the crown-to-root ratio"),
    Reference(key="dibart2003", citation="Dibart et al. 2003, J Periodontol"),
    Reference(key="crown_root_convention", citation="Teaching texts on the crown-to-root ratio (2:3 good, 1:1 the least)"),
    Reference(key="kokich", citation="Kokich, criteria for forced eruption, as given by a teaching page"),
)

_RESTORATION: tuple[Reference, ...] = (
    Reference(key="goodacre2001", citation="Goodacre, Campagni & Aquilino 2001, J Prosthet Dent 85:363"),
    Reference(key="prothero1923", citation="Prothero 1923, as quoted by Goodacre et al. 2001"),
    Reference(key="wilson_chan1994", citation="Wilson & Chan 1994, as quoted by Goodacre et al. 2001"),
    Reference(key="tiu2015", citation="Tiu, Al-Amleh, Waddell & Duncan 2015, J Prosthet Dent"),
    Reference(key="parker1988", citation="Parker 1988, as quoted by Goodacre et al. 2001"),
    Reference(key="parker1991", citation="Parker, Malone, Trier & Striano 1991, J Prosthet Dent 66:730"),
    Reference(key="parker2004", citation="Parker 2004, Dent Clin North Am 48:387"),
    Reference(key="trier1998", citation="Trier, Parker, Cameron & Brousseau 1998, as quoted by Parker 2004"),
    Reference(key="woolsey_matich1978", citation="Woolsey & Matich 1978, J Am Dent Assoc 97:978"),
    Reference(key="weed_baez1984", citation="Weed & Baez 1984, as quoted by Goodacre et al. 2001"),
    Reference(key="proussaefs2004", citation="Proussaefs et al. 2004, J Prosthet Dent"),
    Reference(key="wiskott1996", citation="Wiskott et al. 1996, Int J Prosthodont 9:117"),
    Reference(key="wiskott1997", citation="Wiskott, Nicholls & Belser 1997, Int J Prosthodont 10:207"),
    Reference(key="jorgensen1955", citation="Jorgensen 1955, Acta Odontol Scand 13:35"),
    Reference(key="kaufman1961", citation="Kaufman, Coelho & Colin 1961, J Prosthet Dent 11:487"),
    Reference(key="tripathi2014", citation="Tripathi et al. 2014, J Indian Prosthodont Soc 14:S110"),
    Reference(key="juloski2012", citation="Juloski et al. 2012, J Endod 38:11"),
    Reference(key="libman1995", citation="Libman & Nicholls 1995, Int J Prosthodont 8:155"),
    Reference(key="ichim2006", citation="Ichim, Kuzmanovic & Love 2006, Int Endod J 39:443"),
    Reference(key="samran2013", citation="Samran, El Bahra & Kern 2013, Dent Mater 29:1280"),
    Reference(key="stankiewicz2002", citation="Stankiewicz & Wilson 2002, Int Endod J 35:575"),
    Reference(key="sorensen1990", citation="Sorensen & Engelman 1990, J Prosthet Dent 63:529"),
    Reference(key="mclean1998", citation="McLean 1998, J Can Dent Assoc 64:782"),
    Reference(key="mamoun2014", citation="Mamoun 2014, Eur J Dent"),
    Reference(key="ng2006", citation="Ng et al. 2006, J Prosthet Dent"),
    Reference(key="meng2007", citation="Meng et al. 2007, Oper Dent 32:595"),
    Reference(key="meng2018", citation="Meng et al. 2018, BMC Oral Health 18:83"),
    Reference(
        key="ferrule_lengthening2023",
        citation="Ferrule against crown-to-root ratio, 80 lower premolars, BMC Oral Health 2023, s12903-023-03053-4",
    ),
    Reference(key="reduction_cards", citation="Teaching cards of a dental school on preparation for crowns"),
    Reference(key="rosenstiel", citation="Rosenstiel, Contemporary Fixed Prosthodontics, as reproduced on a teaching page"),
    Reference(key="shillingburg", citation="Shillingburg, Fundamentals of Fixed Prosthodontics"),
    Reference(key="ram2015", citation="Ram et al. 2015, achieved reductions"),
    Reference(key="nawafleh2017", citation="Nawafleh et al. 2017, J Adv Prosthodont 9"),
    Reference(key="zirconia_copings2023", citation="Occlusal thickness of zirconia copings, Egypt Dent J 2023;69:2073"),
    Reference(key="borelli2015", citation="Borelli et al. 2015, Int J Periodontics Restorative Dent 35:41"),
)

_ELEVATION: tuple[Reference, ...] = (
    Reference(key="bresser2019", citation="Bresser et al. 2019, on restorations over raised margins, abstract"),
    Reference(key="ghezzi2019", citation="Ghezzi et al. 2019, on raised margins in 15 patients"),
    Reference(key="mugri2021", citation="Mugri et al. 2021, review of raised margins: most studies at a high risk of bias"),
)

_TEETH: tuple[Reference, ...] = (
    Reference(
        key="wheeler",
        citation="Wheeler's Dental Anatomy, Physiology and Occlusion (Ash & Nelson), table of measurements of the teeth",
    ),
    Reference(key="gher_dunlap1985", citation="Gher & Dunlap 1985, root surface of the upper first molar, 20 teeth"),
    Reference(key="dunlap_gher1985", citation="Dunlap & Gher 1985, root surface of the lower first molar, 20 teeth"),
    Reference(
        key="prefurcation_lower_molar",
        citation="Biometric study of the prefurcation area of human mandibular first molars, 96 teeth",
    ),
    Reference(
        key="odontology2021",
        citation="Micro-CT of lower first molars with periodontitis, Odontology 2021, doi 10.1007/s10266-021-00645-w",
    ),
    Reference(key="kerns1999", citation="Kerns et al. 1999, Int J Periodontics Restorative Dent 19:83"),
    Reference(key="molar_furcation_forms", citation="Complex furcation forms of upper and lower molars on images, 359 molars"),
    Reference(key="iso3950", citation="ISO 3950, Dentistry: designation system for teeth and areas of the oral cavity"),
)

_HOLD: tuple[Reference, ...] = (
    Reference(key="hong2017", citation="Hong et al. 2017, Sci Rep 7:16484, crown-to-root ratio and root area of premolars"),
    Reference(
        key="morgano1996", citation="Morgano 1996, J Prosthet Dent 75:375; the same in Ricketts et al. 2005, Br Dent J 198:463"
    ),
    Reference(key="baba2013", citation="Baba (ed.) 2013, Contemporary Restoration of Endodontically Treated Teeth"),
    Reference(
        key="post_teaching_page", citation="Teaching page of a dentist on posts, 2020 (crown height, half of the root in bone)"
    ),
    Reference(key="pin_page", citation="Teaching page on the placement of retentive pins"),
    Reference(key="pin_sizes_page", citation="Teaching page on amalgam pins: sizes, distances"),
    Reference(
        key="ergin_gemalmaz", citation="Ergin & Gemalmaz, retention of five luting cements on base and noble metal copings"
    ),
    Reference(key="hong2018", citation="Hong et al. 2018, PLoS ONE 13:e0193894, loss of root area against loss of root length"),
    Reference(key="cordaro2021", citation="Cordaro et al. 2021, review of extrusion of teeth, PMC8469087"),
)

_HEAT: tuple[Reference, ...] = (
    Reference(key="tissue_table_2019", citation="Table of thermal properties of tissues, Cancers 2019;11:1183, PMC6721488"),
    Reference(key="hock_kim1987", citation="Hock & Kim 1987, blood flow of gingiva, J Periodontal Res"),
    Reference(key="itis_tissues", citation="IT'IS database of tissue properties, version 4.0, as quoted in a public script"),
    Reference(key="lin2010", citation="Lin et al. 2010, thermal properties of dentine and enamel, Infrared Phys Technol"),
    Reference(key="mouth_film_2014", citation="Finite-element model of heat in teeth, film in figure 6, PMC4240033"),
    Reference(
        key="kalkwarf1983_speed",
        citation="Kalkwarf, Krejci, Edison & Reinhardt 1983, Oral Surg Oral Med Oral Pathol 55:344",
    ),
    Reference(key="sapareto_dewey1984", citation="Sapareto & Dewey 1984, Int J Radiat Oncol Biol Phys 10:787"),
    Reference(key="dewhirst2003", citation="Dewhirst et al. 2003, thresholds of thermal damage from hyperthermia"),
    Reference(key="henriques_moritz1947", citation="Henriques & Moritz 1947, as quoted in several public codes"),
    Reference(key="arrhenius_codes", citation="Sets of Arrhenius constants as they stand in public codes"),
    Reference(key="agah_pearce_welch", citation="Agah, Pearce & Welch, damage of artery wall, as quoted in a public code"),
    Reference(key="si2019", citation="International System of Units, defining constants of 2019"),
    Reference(key="eriksson1983", citation="Eriksson & Albrektsson 1983, J Prosthet Dent"),
    Reference(key="zach_cohen1965", citation="Zach & Cohen 1965, pulp of monkeys, as reported by Kwon 2013"),
    Reference(key="wilcox2001", citation="Wilcox, Wilwerding, Watson & Morris 2001, Int J Oral Maxillofac Implants 16:578"),
    Reference(key="vanrhoon2013", citation="van Rhoon et al. 2013, Eur Radiol 23:2215"),
)

_SAFETY: tuple[Reference, ...] = (
    Reference(key="clinical_teaching", citation="Clinical teaching as we remember it; not confirmed in any source"),
    Reference(
        key="cheng_pacemakers",
        citation="Cheng et al., surgical and endoscopic electrocautery and modern pacemakers and defibrillators, 92 patients; "
        "a review of 2016 in Quintessence Int 47:151 and older teaching disagree",
    ),
    Reference(key="implanted_devices_brief", citation="Brief on non-cardiac implanted electrical devices"),
    Reference(key="fire_task_force", citation="Task force of anaesthesiologists on preventing surgical fires, 26 points"),
    Reference(key="fire_hazard_report", citation="Hazard report and device instructions on fires with electrosurgery"),
    Reference(key="unit_safety_reminders", citation="Device-safety reminder list for electrosurgery in hospitals"),
    Reference(key="radiation_changes", citation="Review of oral tissue changes after radiotherapy and their management"),
    Reference(key="return_plate_place", citation="Nursing page on where a return plate must not be placed, 2018"),
    Reference(key="lengthening_feature", citation="Feature on aesthetic crown lengthening, Oral Health, naming the drugs"),
    Reference(key="robertson1978", citation="Robertson, Luscher, Spangberg & Levy 1978, Oral Surg Oral Med Oral Pathol"),
    Reference(key="krejci1982", citation="Krejci, Reinhardt, Wentz, Hardt & Shaw 1982, Oral Surg Oral Med Oral Pathol 54:575"),
    Reference(key="singapore_dj2015", citation="Bone death after contact with the tip, case, Singapore Dent J 2015;36:39"),
    Reference(key="kalkwarf1987", citation="Kalkwarf, Krejci, Shaw & Edison 1987, J Oral Maxillofac Surg 45:671"),
    Reference(key="iec60601_2_2", citation="IEC 60601-2-2:2017, safety of high frequency surgical equipment"),
    Reference(key="nice_mtg11", citation="NICE medical technologies guidance 11, the technology"),
    Reference(key="skaria2006", citation="Skaria 2006, J Am Acad Dermatol 54:543"),
    Reference(key="niosh_hc11", citation="NIOSH 1996, control of smoke from laser and electric surgical procedures (HC11)"),
    Reference(key="gao2016", citation="Gao et al. 2016, Ann Occup Hyg, masks and respirators against surgical smoke"),
    Reference(
        key="nessler_hf18", citation="Nessler, Reischer & Salchner, electronic skin device for testing plates by AAMI HF18"
    ),
    Reference(
        key="hf18_plate_study", citation="Study of return plates by the thermal limit of AAMI HF18, WIT Trans Biomed Health"
    ),
    Reference(key="plate_burns_report", citation="ECRI, burns under the return electrode: when risks are greatest"),
    Reference(key="skin_current_density", citation="Paper on current density and heating of skin under electrosurgical plates"),
    Reference(
        key="anaesthetic_notes2011", citation="Teaching notes on dental local anaesthetics: durations and greatest doses, 2011"
    ),
    Reference(
        key="bone_drug_years_review",
        citation="Review of bone drugs and the jaw that names more than 4 years as risk, PMC7390761",
    ),
    Reference(
        key="radiation_guideline2024",
        citation="ISOO-MASCC-ASCO guideline on osteoradionecrosis 2024, summary: 50 Gy and surgery as risk; of extractions "
        "afterwards PMC8278595",
    ),
    Reference(key="bleeding_guidance", citation="SDCEP, management of dental patients taking anticoagulants or antiplatelets"),
    Reference(key="bleeding_summary2017", citation="Summary of the SDCEP guidance, Br Dent J 2017, sj.bdj.2017.165"),
    Reference(
        key="endocarditis_guidance",
        citation="Guidance on antibiotic cover against endocarditis: manipulation of gingival tissue, seen in an excerpt",
    ),
    Reference(key="haas_lennon_table", citation="Canadian greatest doses after Haas & Lennon, table 1 of PMC9379193"),
)

_BRIDGE: tuple[Reference, ...] = (
    Reference(key="jepsen1963", citation="Jepsen 1963, area of the roots of extracted teeth"),
    Reference(key="boyd_tylman", citation="Boyd, areas of roots, as given in Tylman's textbook of fixed prosthodontics"),
    Reference(key="freeman1965", citation="Freeman 1965, areas of roots"),
    Reference(key="mowry2002", citation="Mowry et al. 2002, J Periodontol 73:1095"),
    Reference(key="ante1926", citation="Ante 1926, Mich State Dent Soc Bull 8:14, as reported by others"),
    Reference(key="tylman", citation="Tylman, on the attachment of abutments, as reported in an encyclopaedia"),
    Reference(key="abutment_rating", citation="Teaching module on the rating of abutments, for students of dentistry"),
    Reference(key="bridge_lecture", citation="Lecture note on fixed bridges"),
    Reference(key="bridge_cards", citation="Teaching cards on the biomechanics of bridges"),
    Reference(key="pontic_cards", citation="Teaching cards on pontics"),
    Reference(key="fe_pmc4946000", citation="Finite-element study with a table of moduli (table 3), PMC4946000"),
    Reference(key="fe_pmc2584618", citation="Study with a table of moduli of dental materials (table 1), PMC2584618"),
    Reference(key="fe_pmc5308080", citation="Finite-element study that loads with 600 N and with 225 N, PMC5308080"),
    Reference(key="waltimo_kononen1993", citation="Waltimo & Kononen 1993, Scand J Dent Res 101:171"),
    Reference(key="ferrario2004", citation="Ferrario et al. 2004, J Oral Rehabil 31:18"),
    Reference(key="ovate_pontic_opinion", citation="Opinion of a clinician on the design of ovate pontics"),
    Reference(key="ridge_contouring_page", citation="Teaching page on shaping bone and ridge"),
)

REFERENCES: tuple[Reference, ...] = (
    *_OURS,
    *_ATTACHMENT,
    *_REGROWTH,
    *_MEASUREMENT,
    *_PHENOTYPE,
    *_HEALING_TIME,
    *_FINISH_LINE,
    *_RESTORATION,
    *_ELEVATION,
    *_TEETH,
    *_HOLD,
    *_HEAT,
    *_SAFETY,
    *_BRIDGE,
)
