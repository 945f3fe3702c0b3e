//! Reading a plan: syntax and fields first, then values, each with its line.

use super::FORMAT;
use super::from_json::plan_from;
use super::json::PlanJson;
use crate::codes::{
    Code, FILE_TOO_LARGE, NOT_UTF8, PLAN_FIELD, PLAN_FORMAT, PLAN_SHOP, PLAN_SYNTAX, PLAN_VALUE,
};
use crate::limits::LARGEST_FILE;
use model::{Plan, Shop};
use serde::Deserialize;
use serde_json::error::Category;
use units::{Finding, Place};

/// Reads a plan as [`super::write_plan`] writes it. `file` is the name findings carry.
///
/// Strict: an unknown field, a missing one, another format, or the plan of another shop is
/// refused. Derived fields (minutes, gap, the union of the crew, the greatest force) are only
/// checked for their type; the exact twin beside each counts. Whether the plan is *right* is not
/// asked here: that is the audit's business.
///
/// # Errors
/// Findings D102, D103 and D401 to D405, with the line where there is one.
pub fn read_plan(file: &str, text: &[u8], shop: &Shop) -> Result<Plan, Vec<Finding>> {
    let source = Source {
        file,
        text: checked_text(file, text)?,
    };
    check_format(&source)?;
    let json: PlanJson =
        serde_json::from_str(source.text).map_err(|error| vec![source.refuse(&error)])?;
    if json.shop != shop.name {
        let found = format!(
            "the plan is for {:?}, the folder describes {:?}",
            json.shop, shop.name
        );
        let place = source.place(None, Some("shop"));
        let action = "read it with the folder it was made from, or plan again";
        return Err(vec![finding(
            PLAN_SHOP,
            place,
            found,
            "the plan of this shop",
            action,
        )]);
    }
    plan_from(json).map_err(|problems| {
        let bad = |(path, problem): (String, String)| {
            let place = source.place(None, Some(&path));
            finding(
                PLAN_VALUE,
                place,
                problem,
                "",
                "plan again, or undo the edit made by hand",
            )
        };
        problems.into_iter().map(bad).collect()
    })
}

fn checked_text<'a>(file: &str, text: &'a [u8]) -> Result<&'a str, Vec<Finding>> {
    let place = || Place {
        file: file.to_owned(),
        line: None,
        field: None,
    };
    if text.len() > LARGEST_FILE {
        let found = format!("{} bytes", text.len());
        return Err(vec![finding(
            FILE_TOO_LARGE,
            place(),
            found,
            "at most 64 MiB",
            "plan again",
        )]);
    }
    std::str::from_utf8(text).map_err(|error| {
        let found = format!("byte {} is not UTF-8", error.valid_up_to() + 1);
        vec![finding(
            NOT_UTF8,
            place(),
            found,
            "UTF-8 text",
            "save the file as UTF-8",
        )]
    })
}

/// Looks at the format alone, so that a later version is named rather than its first new field.
fn check_format(source: &Source<'_>) -> Result<(), Vec<Finding>> {
    #[derive(Deserialize)]
    struct OnlyFormat {
        format: Option<serde_json::Value>,
    }
    let only: OnlyFormat =
        serde_json::from_str(source.text).map_err(|error| vec![source.refuse(&error)])?;
    let found = match only.format {
        Some(serde_json::Value::String(format)) if format == FORMAT => return Ok(()),
        Some(other) => format!("format {other}"),
        None => "no format is named".to_owned(),
    };
    let place = source.place(None, Some("format"));
    let expected = format!("{FORMAT:?}");
    Err(vec![finding(
        PLAN_FORMAT,
        place,
        found,
        &expected,
        "plan again with this version",
    )])
}

/// The text with its name.
struct Source<'a> {
    file: &'a str,
    text: &'a str,
}

impl Source<'_> {
    fn place(&self, line: Option<u64>, field: Option<&str>) -> Place {
        Place {
            file: self.file.to_owned(),
            line,
            field: field.map(str::to_owned),
        }
    }

    /// What the JSON reader says, in our words.
    fn refuse(&self, error: &serde_json::Error) -> Finding {
        let line = u64::try_from(error.line()).ok().filter(|line| *line > 0);
        let full = error.to_string();
        let said = full
            .rsplit_once(" at line ")
            .map_or(full.as_str(), |(said, _)| said);
        match error.classify() {
            Category::Data => {
                let about_field = said.contains(" field `");
                let named = said
                    .split('`')
                    .nth(1)
                    .filter(|_| about_field)
                    .map(str::to_owned);
                let field = named.or_else(|| self.key_before(error.line(), error.column()));
                let code = if about_field { PLAN_FIELD } else { PLAN_VALUE };
                let place = self.place(line, field.as_deref());
                finding(
                    code,
                    place,
                    said.to_owned(),
                    "",
                    "plan again, or undo the edit by hand",
                )
            }
            _ => {
                let place = self.place(line, None);
                let expected = "a JSON plan as this program writes it";
                finding(PLAN_SYNTAX, place, said.to_owned(), expected, "plan again")
            }
        }
    }

    /// The last key written on the line before the column, or on one of the lines before.
    fn key_before(&self, line: usize, column: usize) -> Option<String> {
        let lines: Vec<&str> = self.text.lines().take(line).collect();
        let (last, earlier) = lines.split_last()?;
        let upto = last.get(..column.min(last.len())).unwrap_or(last);
        let texts = std::iter::once(upto).chain(earlier.iter().rev().take(3).copied());
        texts.filter_map(last_key).next()
    }
}

/// The text between the quotes before the last `":`.
fn last_key(text: &str) -> Option<String> {
    let end = text.rfind("\":")?;
    let before = text.get(..end)?;
    let start = before.rfind('"')?;
    before
        .get(start + 1..)
        .filter(|key| key.len() <= 40)
        .map(str::to_owned)
}

fn finding(code: Code, place: Place, found: String, expected: &str, action: &str) -> Finding {
    Finding {
        code: code.code,
        severity: code.severity,
        place,
        found,
        expected: expected.to_owned(),
        action: action.to_owned(),
    }
}
