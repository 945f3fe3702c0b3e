//! config/materials.toml: the catalogue of standard sheet grades, which materials may name.

use super::materials::{Base, Figures, STRENGTH, read_figures, rising};
use crate::codes::UNKNOWN_GRADE;
use crate::fields::Fields;
use crate::findings::{Findings, Problem, shown};
use crate::nearest::nearest_few;
use crate::settings::{Settings, read_settings};
use crate::value::Text;

const FILE: &str = "config/materials.toml";
const TEXT: &str = include_str!("../../../../config/materials.toml");

/// The catalogue, in its own order.
pub(super) struct Grades(Vec<Grade>);

/// A standard grade of sheet.
pub(super) struct Grade {
    pub(super) designation: String,
    /// Lower end of the standard's range of tensile strength, in MPa.
    pub(super) lowest: f64,
    pub(super) figures: Figures,
}

impl Grades {
    /// The grade of this designation, or what is wrong with it.
    pub(super) fn find(&self, designation: &str) -> Result<&Grade, Problem> {
        let mut grades = self.0.iter();
        grades
            .find(|grade| grade.designation == designation)
            .ok_or_else(|| self.unknown(designation))
    }

    fn unknown(&self, designation: &str) -> Problem {
        // Steels of quite different strength are one letter apart, hence all that are near.
        const MOST: usize = 3;
        let known: Vec<&str> = self.0.iter().map(|one| one.designation.as_str()).collect();
        let near = nearest_few(designation, known.iter().copied(), MOST);
        let near: Vec<String> = near.iter().map(|name| format!("{name:?}")).collect();
        let action = if near.is_empty() {
            "take one of these, or leave grade out and give every figure".to_owned()
        } else {
            format!(
                "did you mean {}? go by the sheet's certificate",
                near.join(" or ")
            )
        };
        let expected = format!("one of {}", known.join(", "));
        Problem::new(UNKNOWN_GRADE, shown(designation), expected, action)
    }
}

/// Reads the catalogue with the reader of the shop's own materials.
///
/// It is part of the program, and a test sees to it that it is complete; were it not, the findings
/// would say so and no shop would be read.
pub(super) fn read_grades(out: &mut Findings) -> Grades {
    read_catalogue(TEXT, out)
}

fn read_catalogue(text: &str, out: &mut Findings) -> Grades {
    let mut grades = Vec::new();
    read_settings(FILE, text.as_bytes(), out, |file| {
        file.each("grade", |grade| grades.extend(read_grade(grade)));
    });
    Grades(grades)
}

fn read_grade(grade: &mut Settings<'_, '_>) -> Option<Grade> {
    let designation = grade.required("designation", &Text);
    let lowest = grade.required("strength_lowest_mpa", &STRENGTH);
    let figures = read_figures(grade, &Base::Nothing)?;
    let (designation, lowest) = (designation?, lowest?);
    let (least, typical) = (
        ("strength_lowest_mpa", lowest),
        ("strength_mpa", figures.typical),
    );
    rising(grade, least, typical, "the lowest strength");
    Some(Grade {
        designation,
        lowest,
        figures,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn the_catalogue_is_complete_and_without_findings() {
        let mut findings = Findings::default();
        let grades = read_grades(&mut findings);
        assert_eq!(findings.finish(), Vec::new());
        let names: BTreeSet<&str> = grades.0.iter().map(|g| g.designation.as_str()).collect();
        assert_eq!((grades.0.len(), names.len()), (12, 12));
    }

    #[test]
    fn leaving_out_any_figure_is_noticed() {
        let lines: Vec<&str> = TEXT.lines().collect();
        let is_figure = |line: &str| !line.starts_with('#') && line.contains(" = ");
        let mut tried = 0;
        for (left_out, line) in lines.iter().enumerate() {
            // The one figure a grade may lack.
            if !is_figure(line) || line.starts_with("v_over_t") {
                continue;
            }
            tried += 1;
            let kept = lines.iter().enumerate().filter(|(at, _)| *at != left_out);
            let text: String = kept.map(|(_, line)| format!("{line}\n")).collect();
            let mut findings = Findings::default();
            read_catalogue(&text, &mut findings);
            assert!(findings.any_error(), "{line}");
        }
        assert_eq!(tried, 12 * 12);
    }

    #[test]
    fn figures_that_contradict_each_other_are_noticed() {
        for (from, to) in [
            ("strength_lowest_mpa = 360", "strength_lowest_mpa = 431"),
            ("strength_highest_mpa = 510", "strength_highest_mpa = 429"),
            ("yield_mpa = 235", "yield_mpa = 431"),
        ] {
            assert!(TEXT.contains(from), "{from}");
            let mut findings = Findings::default();
            read_catalogue(&TEXT.replacen(from, to, 1), &mut findings);
            let codes: Vec<&str> = findings.finish().iter().map(|one| one.code).collect();
            assert_eq!(codes, ["D216"], "{to}");
        }
    }

    #[test]
    fn unknown_grades_find_all_that_are_near() {
        let grades = read_grades(&mut Findings::default());
        for (written, action) in [
            (
                "S355JR",
                "did you mean \"S355\" or \"S235JR\"? go by the sheet's certificate",
            ),
            (
                "en aw-5754",
                "did you mean \"EN AW-5754 H111\" or \"EN AW-5754 H22\"? go by the sheet's certificate",
            ),
            (
                "s700mc",
                "did you mean \"S700MC\"? go by the sheet's certificate",
            ),
            (
                "titanium",
                "take one of these, or leave grade out and give every figure",
            ),
        ] {
            let problem = grades.find(written).err().expect("no such grade");
            assert_eq!(problem.action, action, "{written}");
            assert!(
                problem.expected.starts_with("one of S235JR, S355, "),
                "{written}"
            );
        }
    }
}
