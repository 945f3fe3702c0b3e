//! The formulas behind the numbers of a study, as docs/engineering.md has them.

use crate::option::OptionStudy;
use bending::force::ForceForm;
use tooling::Form;

/// What a formula is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// Force of air bending.
    Force,
    /// Flattening a hem.
    Flattening,
    /// Bottoming and coining.
    Bands,
    /// Work of a bend.
    Work,
    /// Line load and load path.
    LineLoad,
    /// Off centre.
    OffCentre,
    /// Inside radius.
    Radius,
    /// Smallest radius.
    SmallestRadius,
    /// Tip creases.
    Crease,
    /// Springback.
    Springback,
    /// Smallest flange.
    Flange,
    /// Deduction.
    Deduction,
    /// Gauge.
    Gauge,
    /// Travel and heights.
    Travel,
    /// Crowning.
    Crowning,
    /// Hems.
    Hem,
    /// Stepped radii.
    Steps,
    /// Stroke time.
    Stroke,
    /// Lifting.
    Lifting,
    /// Clearances of the section.
    Clearance,
}

/// One formula.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Formula {
    /// What it is about.
    pub topic: Topic,
    /// Its name.
    pub name: &'static str,
    /// The formula.
    pub formula: &'static str,
    /// Its symbols and their units.
    pub symbols: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// Where it holds.
    pub range: &'static str,
    /// How sure it is: `[source]`, `[memory]`, `[computed]` or `[trade]`.
    pub mark: &'static str,
}

/// The formulas that the numbers of some setups rest on, in the order in which they are shown.
#[must_use]
pub fn formulas<'a>(options: impl IntoIterator<Item = &'a OptionStudy>) -> Vec<Formula> {
    let options: Vec<&OptionStudy> = options.into_iter().collect();
    let hits = || options.iter().flat_map(|option| &option.hits);
    let flattens = hits().any(|hit| matches!(hit.form, Form::Flatten { .. }));
    let steps = hits().any(|hit| matches!(hit.form, Form::Stepped { .. }));
    let known = options.iter().any(|option| !option.flat.is_empty());
    let mut out: Vec<Formula> = Vec::new();
    let shop_form = options.first().map(|option| option.force_form);
    for form in ForceForm::ALL {
        // Oehler's is the upper bound's, whatever the shop's form.
        if Some(form) == shop_form || form == ForceForm::Oehler {
            out.push(force_formula(form));
        }
    }
    out.extend(ALL.iter().copied().filter(|formula| match formula.topic {
        Topic::Flattening | Topic::Hem => flattens,
        Topic::Steps => steps,
        Topic::Clearance => known,
        _ => true,
    }));
    out
}

fn force_formula(form: ForceForm) -> Formula {
    let (name, formula) = match form {
        ForceForm::Oehler => ("Force, oehler", "F = C·Rm·L·t²/V, C = 1 + 4t/V"),
        ForceForm::Textbook => ("Force, textbook", "F = C·Rm·L·t²/V, C = 1.33"),
        ForceForm::Manual => ("Force, manual", "F = C·Rm·L·t²/V, C = 650/450"),
        ForceForm::InchShop => (
            "Force, inch-shop",
            "F = C·Rm·L·t²/V, C = 575·2000/(12·60 000)",
        ),
    };
    Formula {
        topic: Topic::Force,
        name,
        formula,
        symbols: "F N, Rm MPa, bend length L mm, thickness t mm, V opening mm",
        source: form.source(),
        range: match form {
            ForceForm::Oehler => {
                "air bending, 0.5 to 10 mm, V from 5 to 20 t; at the highest strength an upper bound"
            }
            _ => "air bending, V from 5 to 20 t",
        },
        mark: form.mark(),
    }
}

const ALL: &[Formula] = &[
    Formula {
        topic: Topic::Flattening,
        name: "Force to flatten a hem",
        formula: "F = f·(1 + 4/8)·Rm·L·t²/(8t)",
        symbols: "F N, f the shop's flatten_factor, Rm MPa, L mm, t mm",
        source: "common practice: several times the air bend in a V of 8 t",
        range: "a bound, not a measured force: the tool's own chart decides",
        mark: "[trade]",
    },
    Formula {
        topic: Topic::Bands,
        name: "Bottoming and coining",
        formula: "3 to 5 times, 5 to 10 times the air-bending force or more",
        symbols: "F kN",
        source: "common practice",
        range: "bounds for a warning, not calculations; coining has no upper bound",
        mark: "[trade]",
    },
    Formula {
        topic: Topic::Work,
        name: "Work of a bend",
        formula: "W = F·h·m, m = 0.75",
        symbols: "W J, F kN, travel h mm, m mean force over the stroke as a share of its peak",
        source: "Oehler's example, quoted from Lange (second-hand)",
        range: "m from 0.5 to 1",
        mark: "[source]",
    },
    Formula {
        topic: Topic::LineLoad,
        name: "Line load and weakest link",
        formula: "q = F/L; bed and ram, where not stated: Fr/(0.6·W)",
        symbols: "q kN/m, F kN, L m over which it is carried, Fr rated kN, W m between the frames",
        source: "statics; the bed's rule a trade article",
        range: "an even load; a horn or cut-out section carries less",
        mark: "[computed], bed [source]",
    },
    Formula {
        topic: Topic::OffCentre,
        name: "Off centre",
        formula: "F·(1/2 ± e/s) on the two drives; e ≤ (s/2)·(Fr/F − 1)",
        symbols: "F kN, e mm off centre, s mm between the drives, Fr rated kN",
        source: "statics; that each drive holds half the rated force is the usual construction",
        range: "two equal drives; the manual's own diagram goes first",
        mark: "[computed]",
    },
    Formula {
        topic: Topic::Radius,
        name: "Inside radius of an air bend",
        formula: "r = the larger of share·V and the tip radius",
        symbols: "r mm, V mm, share by material",
        source: "about 5/32 of V in mild steel; other metals by the materials' own figures",
        range: "V near 8 t",
        mark: "[source] for mild steel, else [trade]",
    },
    Formula {
        topic: Topic::SmallestRadius,
        name: "Smallest inside radius",
        formula: "a table by tensile strength and thickness",
        symbols: "r mm, Rm MPa, t mm",
        source: "DIN 6935 (from memory, verify in the book)",
        range: "flat steel up to 640 MPa and 12 mm, across the rolling direction; along it, none",
        mark: "[memory]",
    },
    Formula {
        topic: Topic::Crease,
        name: "Creasing tip",
        formula: "tip < 0.63·t and below the natural radius",
        symbols: "tip mm, t mm",
        source: "common practice",
        range: "air bending of steel; a warning",
        mark: "[trade]",
    },
    Formula {
        topic: Topic::Springback,
        name: "Springback",
        formula: "opens by the material's degrees at 90°·A/90; press to β less that",
        symbols: "A bend angle °, β included angle °",
        source: "the material's own figure",
        range: "choosing tools; measure a test bend",
        mark: "[trade]",
    },
    Formula {
        topic: Topic::Springback,
        name: "Springback, lower estimate",
        formula: "Ri/Rf = 4x³ − 3x + 1, x = Ri·Y/(E·T); opens by A·((Rf + T/2)/(Ri + T/2) − 1)",
        symbols: "Ri under load, Rf after, T mm, yield Y and modulus E MPa",
        source: "Kalpakjian & Schmid after Gardiner (from memory, verify in the book)",
        range: "x from 0 to 0.5; it omits the recovery of the legs and reads low",
        mark: "[memory]",
    },
    Formula {
        topic: Topic::Flange,
        name: "Smallest flange",
        formula: "b = V/(2·sin(β/2))",
        symbols: "b mm outside, V mm, β included angle °",
        source: "geometry",
        range: "sharp shoulders; no margin for slip",
        mark: "[computed]",
    },
    Formula {
        topic: Topic::Deduction,
        name: "Deduction",
        formula: "BD = 2·tan(A/2)·(r + t) − A·π/180·(r + K·t), K = k/2 or the shop's, k = 0.65 + 0.5·log10(r/t)",
        symbols: "BD mm, A bend angle °, r inside radius mm, t mm",
        source: "geometry with k of DIN 6935 (from memory, verify in the book); measured ones go first",
        range: "k = 1 for r/t above 5, never below 0",
        mark: "[computed], k [memory]",
    },
    Formula {
        topic: Topic::Gauge,
        name: "Back gauge",
        formula: "X = leg − BD/2; stops a quarter of the edge from each of its ends",
        symbols: "X mm, outside leg mm, BD mm",
        source: "geometry; where the stops stand is common practice, no source",
        range: "against a free edge; R as docs/rules.md section 2c has it",
        mark: "[computed], stops [trade]",
    },
    Formula {
        topic: Topic::Travel,
        name: "Travel, ram to bed",
        formula: "y = (V/2)·tan(A/2) − (r + t)·(1/cos(A/2) − 1); H = stack − (y − t)",
        symbols: "y mm from touching the sheet, A °, r mm, t mm, stack of holders, punch and die mm",
        source: "geometry",
        range: "legs that rest on the shoulders with their straight part; the angle under load",
        mark: "[computed]",
    },
    Formula {
        topic: Topic::Crowning,
        name: "What a bow costs",
        formula: "180/π ÷ [(V/4)/cos²(A/2) − ((r + t)/2)·tan(A/2)/cos(A/2)] degrees a millimetre",
        symbols: "V mm, A °, r mm, t mm",
        source: "geometry",
        range: "the radius constant; the bow itself is measured on the machine",
        mark: "[computed]",
    },
    Formula {
        topic: Topic::Hem,
        name: "Hem",
        formula: "two hits: bend to 30°, then fold to the gap; smallest leg 1.93·V",
        symbols: "V mm",
        source: "common practice; the leg is geometry",
        range: "hems made in two hits",
        mark: "[trade]",
    },
    Formula {
        topic: Topic::Steps,
        name: "Stepped radius",
        formula: "θ ≤ 2·acos(1 − depth/(R + t)); n = ⌈A/θ⌉; pitch A/n·π/180·(R + t/2)",
        symbols: "θ and A °, depth of a facet, R, t and pitch mm, n hits",
        source: "geometry",
        range: "R well above the natural radius of the V",
        mark: "[computed]",
    },
    Formula {
        topic: Topic::Stroke,
        name: "Stroke time",
        formula: "(a − m)/fast + m/slow + y/bend + dwell + (a + y)/back",
        symbols: "approach a, mute height m, travel y mm, speeds mm/s",
        source: "kinematics at constant speeds",
        range: "ramps left out, so a real stroke is a little longer; mute and slow are safety functions",
        mark: "[computed]",
    },
    Formula {
        topic: Topic::Lifting,
        name: "Lifting",
        formula: "RWL = 23 kg·HM·VM·DM·AM·FM·CM; index = mass/RWL",
        symbols: "multipliers from reach, height, way, turn, frequency and grip",
        source: "NIOSH Publication 94-110; tables of frequency and grip from memory, verify in the book",
        range: "two-handed lifts by one person; team lifts and sharp sheet are outside it",
        mark: "[source], tables [memory]",
    },
    Formula {
        topic: Topic::Clearance,
        name: "Clearance of the part as bent so far",
        formula: "depth of the sheet in punch, ram, die and bed at eight stations of the stroke",
        symbols: "mm, outside of V/√2 + 2t about the middle of the V",
        source: "geometry, docs/rules.md section 2b",
        range: "known cross sections; box ends, sagging and the sheet's way in and out are not seen",
        mark: "[computed]",
    },
];
