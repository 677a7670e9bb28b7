"""Sources of the numbers: author, year, journal or standard."""

from collum.evidence.registry import Reference

REFERENCES: tuple[Reference, ...] = tuple(
    Reference(key=key, citation=citation)
    for key, citation in (
        ("collum_decision", "Decision of the Collum developers, on grounds given in docs/theory and docs/decisions"),
        ("common_practice", "Common practice; no published source known to us"),
        ("open_chart_figures", "Figures worked out from open six-site probing charts of 148 people, 23,874 sites"),
        ("schmidt2013", "Schmidt et al. 2013, J Clin Periodontol 40:493 (meta-analyses of the supracrestal attachment)"),
        ("gargiulo1961", "Gargiulo et al. 1961, J Periodontol 32:261, as reported by a later clinical review"),
        ("arora2013_height", "Arora et al. 2013, Int J Periodontics Restorative Dent, doi 10.11607/prd.1501 (1,932 healthy sites)"),
        ("gingiva_cbct_2021", "Study of 25 young adults with soft-tissue cone-beam scans, 2021, PMC8517686"),
        ("kan2017", "Kan et al. 2017, Int J Periodontics Restorative Dent 37:371 (sounding against direct measurement, 190 teeth)"),
        ("jpid22", "J Adv Periodontol Implant Dent, supraosseous gingiva after crown lengthening, 20 teeth"),
        ("dominguez2020", "Dominguez et al. 2020, Clin Oral Investig, doi 10.1007/s00784-020-03239-y (21 patients)"),
        ("arora2013", "Arora et al. 2013, J Periodontol 84:934 (64 patients, 6 months); by phenotype: second-hand"),
        ("deas2004", "Deas et al. 2004, J Periodontol 75:1288 (25 patients, 43 teeth); figures from memory"),
        ("klug_dogs", "Klug, as reported by Coelho, Cavallaro and Rothschild, J Prosthet Dent (electrosurgery in dogs)"),
        ("wang_thesis", "Wang, thesis, Loma Linda University (1,206 probing sites, 15 patients)"),
        ("polson1980", "Polson et al. 1980, J Clin Periodontol 7:479 (22 sites)"),
        ("lang_loe1972", "Lang and Loe 1972, J Periodontol 43:623 (32 students), second-hand"),
        ("goodacre2001", "Goodacre, Campagni and Aquilino 2001, J Prosthet Dent 85:363"),
        ("mclean1998", "McLean 1998, J Can Dent Assoc 64:782"),
        ("juloski2012", "Juloski et al. 2012, J Endod 38:11 (review of the ferrule)"),
        ("libman1995", "Libman and Nicholls 1995, Int J Prosthodont 8:155"),
        ("drinstitute", "Teaching page on the periodontal-restorative interface (2.5 mm from margin to crest)"),
        ("spear2015", "Spear 2015, teaching series on the attachment, part 3"),
        ("examzify", "Answer key of a board examination (finish line in the sulcus), second-hand"),
        ("lanning2003", "Lanning et al. 2003, J Periodontol 74:468"),
        ("assif1991", "Assif et al. 1991, J Prosthet Dent 65:62"),
        ("ash_nelson", "Ash and Nelson, Wheeler's Dental Anatomy, Physiology and Occlusion, table of measurements of the teeth"),
        ("gher_dunlap1985", "Gher and Dunlap 1985 (upper first molar: furcation entrances)"),
        ("dunlap_gher1985", "Dunlap and Gher 1985 (lower first molar: root separation)"),
        ("iso3950", "ISO 3950, Dentistry: designation system for teeth and areas of the oral cavity"),
    )
)
