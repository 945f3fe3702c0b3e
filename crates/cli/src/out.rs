//! The output folder: all of its files appear at once, or none does.

use crate::printer::batch_picture::PICTURE_BEGINS;
use crate::printer::day_plan::{Page, full};
use crate::printer::part_sheet::{INDEX, INDEX_BEGINS};
use crate::printer::{CAUTION, PAGE_WIDTH, csv_list, plan_tables, sheet};
use crate::trouble::Trouble;
use paper::{Issue, PaperError};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process;
use units::Moment;

const PLAN: &str = "plan.json";

/// The files, in the order in which they are written.
const NAMES: &[&str] = &[
    PLAN,
    "run-list.txt",
    "run-list.csv",
    "changeovers.txt",
    "batches.dot",
];

/// The files for paper, in the order in which they are written.
const PDF_NAMES: &[&str] = &["run-list.pdf", "changeovers.pdf", "plan.pdf"];

/// The tables, in the order in which they are written.
const TABLE_NAMES: [&str; 3] = ["plan.xlsx", "loads.csv", "orders.csv"];

/// How the names of calendars begin.
const CALENDAR: &str = "calendar-";

/// How a plan of this program begins; an older folder without it is not ours.
const PLAN_BEGINS: &str = "{\n  \"format\": \"brakewright.plan/";

/// What marks a folder as written by this program.
struct Kind {
    /// Whether a file of this name may be in it.
    ours: fn(&str) -> bool,
    /// The file that says so.
    sign: &'static str,
    /// How that one begins.
    begins: &'static str,
}

const PLANS: Kind = Kind {
    ours: |name| {
        let calendar = name.starts_with(CALENDAR) && name.ends_with(".ics");
        NAMES.contains(&name)
            || PDF_NAMES.contains(&name)
            || TABLE_NAMES.contains(&name)
            || calendar
    },
    sign: PLAN,
    begins: PLAN_BEGINS,
};

const PICTURES: Kind = Kind {
    ours: |name| name == INDEX || name.ends_with(".svg"),
    sign: INDEX,
    begins: INDEX_BEGINS,
};

const ROWS: Kind = Kind {
    ours: |name| ROW_NAMES.contains(&name),
    sign: ROW_NAMES[0],
    begins: documents::PART_ROWS_BEGIN,
};

/// The files with a part's rows.
const ROW_NAMES: [&str; 2] = ["parts.csv", "bends.csv"];

/// Whether the folder may be written: it is not there, or empty, or holds an earlier output of this
/// program and nothing else.
pub(crate) fn may_be_written(folder: &Path) -> Result<(), Trouble> {
    may_hold(folder, &PLANS)
}

/// The same for a folder of pictures.
pub(crate) fn pictures_may_be_written(folder: &Path) -> Result<(), Trouble> {
    may_hold(folder, &PICTURES)
}

/// The same for a folder of a part's rows. A shop's own folder holds more and is never written.
pub(crate) fn rows_may_be_written(folder: &Path) -> Result<(), Trouble> {
    may_hold(folder, &ROWS)
}

/// Writes a part's rows. Answers with a line that says what was written.
pub(crate) fn write_rows(folder: &Path, parts: String, bends: String) -> Result<String, Trouble> {
    rows_may_be_written(folder)?;
    let rows = [parts.into_bytes(), bends.into_bytes()];
    let names = ROW_NAMES.into_iter().map(str::to_owned);
    let files: Vec<(String, Vec<u8>)> = names.zip(rows).collect();
    place(folder, &files)?;
    Ok(format!(
        "Wrote {} into {}.",
        ROW_NAMES.join(" and "),
        folder.display()
    ))
}

fn may_hold(folder: &Path, kind: &Kind) -> Result<(), Trouble> {
    let refuse = |cause: String| Trouble::Unwritable {
        path: folder.to_owned(),
        cause,
    };
    let parent = parent_of(folder)?;
    if !parent.is_dir() {
        return Err(refuse(format!("{} is not a folder", parent.display())));
    }
    match fs::symlink_metadata(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(refuse(error.to_string())),
        Ok(found) if !found.is_dir() => {
            return Err(refuse(
                "there is something of that name that is not a folder".to_owned(),
            ));
        }
        Ok(_) => {}
    }
    let mut any = false;
    for entry in fs::read_dir(folder).map_err(|error| refuse(error.to_string()))? {
        let name = entry
            .map_err(|error| refuse(error.to_string()))?
            .file_name();
        if !name.to_str().is_some_and(kind.ours) {
            return Err(refuse(format!(
                "it holds {}, which is not of an earlier output; name an empty or a new folder",
                name.display()
            )));
        }
        any = true;
    }
    if any && !is_ours(folder, kind) {
        return Err(refuse(format!(
            "its {} is not one of this program; name an empty or a new folder",
            kind.sign
        )));
    }
    Ok(())
}

fn is_ours(folder: &Path, kind: &Kind) -> bool {
    begins_with(&folder.join(kind.sign), kind.begins)
}

/// Reads no more of a file than this: a sheet is some tens of kilobytes.
const PDF_BYTES_MOST: u64 = 16 * 1024 * 1024;

/// What a PDF of this program names as its producer.
const PDF_PRODUCER: &[u8] = b"/Producer (brakewright)";

fn is_our_pdf(file: &Path) -> bool {
    use std::io::Read;
    let mut bytes = Vec::new();
    let read = File::open(file).and_then(|file| file.take(PDF_BYTES_MOST).read_to_end(&mut bytes));
    let named = |window: &[u8]| window == PDF_PRODUCER;
    read.is_ok() && bytes.starts_with(b"%PDF-") && bytes.windows(PDF_PRODUCER.len()).any(named)
}

fn begins_with(file: &Path, text: &str) -> bool {
    use std::io::Read;
    let mut begins = vec![0; text.len()];
    File::open(file)
        .and_then(|mut file| file.read_exact(&mut begins))
        .is_ok_and(|()| begins == text.as_bytes())
}

/// Whether a picture of batches may be written: nothing of that name is there, or an earlier one.
pub(crate) fn picture_may_be_written(path: &Path) -> Result<(), Trouble> {
    let ours = |path: &Path| begins_with(path, PICTURE_BEGINS);
    file_may_be_written(path, ours, "picture of batches")
}

/// The same for a changeover sheet as PDF.
pub(crate) fn sheet_may_be_written(path: &Path) -> Result<(), Trouble> {
    file_may_be_written(path, is_our_pdf, "sheet")
}

fn file_may_be_written(
    path: &Path,
    ours: impl Fn(&Path) -> bool,
    what: &str,
) -> Result<(), Trouble> {
    let refuse = |cause: String| Trouble::Unwritable {
        path: path.to_owned(),
        cause,
    };
    let parent = parent_of(path)?;
    if !parent.is_dir() {
        return Err(refuse(format!("{} is not a folder", parent.display())));
    }
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(refuse(error.to_string())),
        Ok(found) if found.is_file() && ours(path) => Ok(()),
        Ok(_) => Err(refuse(format!(
            "what is there is not an earlier {what}; name a new file"
        ))),
    }
}

/// Writes a picture of batches. Answers with a line that says what was written.
pub(crate) fn write_picture(path: &Path, bytes: &[u8]) -> Result<String, Trouble> {
    picture_may_be_written(path)?;
    write_file(path, bytes)
}

/// Whether a table may be written: nothing of that name is there.
pub(crate) fn table_may_be_written(path: &Path) -> Result<(), Trouble> {
    file_may_be_written(path, |_| false, "table of ours that may go")
}

/// Writes tables: all of them as the sheets of a workbook when the file ends in `.xlsx`, else the first
/// as CSV. Answers with a line that says what was written.
pub(crate) fn write_tables(
    path: &Path,
    tables: &[exchange::table::Table],
    made: Moment,
) -> Result<String, Trouble> {
    table_may_be_written(path)?;
    let workbook = path
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"));
    let bytes = if workbook {
        exchange::table::as_workbook(tables, made).map_err(|error| Trouble::Unwritable {
            path: path.to_owned(),
            cause: error.to_string(),
        })?
    } else {
        let first = tables.first().map(exchange::table::as_csv);
        first.unwrap_or_default().into_bytes()
    };
    write_file(path, &bytes)
}

/// Writes a changeover sheet as PDF. Answers with a line that says what was written.
pub(crate) fn write_sheet(path: &Path, bytes: &[u8]) -> Result<String, Trouble> {
    sheet_may_be_written(path)?;
    write_file(path, bytes)
}

/// Writes a file beside the one asked for, renamed once it is whole.
fn write_file(path: &Path, bytes: &[u8]) -> Result<String, Trouble> {
    let name = path
        .file_name()
        .map_or_else(String::new, |n| n.display().to_string());
    let fresh = parent_of(path)?.join(format!(".{name}.new-{}", process::id()));
    let written = File::create_new(&fresh).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&fresh, path)
    });
    if let Err(error) = written {
        // Nothing half-written stays; when even that fails, the first error says more.
        let _ = fs::remove_file(&fresh);
        return Err(Trouble::Unwritable {
            path: path.to_owned(),
            cause: error.to_string(),
        });
    }
    Ok(format!("Wrote {}.", path.display()))
}

/// Writes a plan's files. Answers with a line that says what was written.
pub(crate) fn write(
    folder: &Path,
    page: &Page<'_>,
    issue: Option<&Issue>,
    calendars: Option<exchange::ical::Issue>,
    tables: Option<Moment>,
) -> Result<String, Trouble> {
    may_be_written(folder)?;
    let names = NAMES.iter().map(|&name| name.to_owned());
    let mut files: Vec<(String, Vec<u8>)> = names.zip(contents(page)?).collect();
    if let Some(issue) = issue {
        let sheets = on_paper(page, issue)?;
        files.extend(
            sheets
                .into_iter()
                .map(|(name, bytes)| (name.to_owned(), bytes)),
        );
    }
    if let Some(made) = tables {
        let unwritable = |error: exchange::table::TableError| Trouble::Unwritable {
            path: PathBuf::from(TABLE_NAMES[0]),
            cause: error.to_string(),
        };
        let made = plan_tables::all(page.shop, page.plan, made).map_err(unwritable)?;
        let names = TABLE_NAMES.into_iter().map(str::to_owned);
        files.extend(names.zip(made));
    }
    let mut written: Vec<String> = files.iter().map(|(name, _)| name.clone()).collect();
    if let Some(issue) = calendars {
        let calendars = self::calendars(page, issue);
        written.push(format!("{} calendars", calendars.len()));
        files.extend(calendars);
    }
    let written = written.join(", ");
    place(folder, &files)?;
    Ok(format!("Wrote {written} into {}.", folder.display()))
}

/// Writes pictures and their index. Answers with a line that says what was written.
pub(crate) fn write_pictures(
    folder: &Path,
    files: &[(String, Vec<u8>)],
) -> Result<String, Trouble> {
    pictures_may_be_written(folder)?;
    place(folder, files)?;
    Ok(match files.len() - 1 {
        0 => format!(
            "Wrote {INDEX} into {}; there is no picture, and it says why.",
            folder.display()
        ),
        1 => format!("Wrote {INDEX} and 1 picture into {}.", folder.display()),
        many => format!(
            "Wrote {INDEX} and {many} pictures into {}.",
            folder.display()
        ),
    })
}

/// Writes all files into a folder beside the one asked for and renames it; what was there before
/// goes when the new one stands.
fn place(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Trouble> {
    let beside = |what: &str| -> Result<PathBuf, Trouble> {
        let name = folder
            .file_name()
            .map_or_else(String::new, |n| n.display().to_string());
        Ok(parent_of(folder)?.join(format!(".{name}.{what}-{}", process::id())))
    };
    let (fresh, old) = (beside("new")?, beside("old")?);
    let placed = fill(&fresh, files).and_then(|()| put_in_place(&fresh, folder, &old));
    if let Err(error) = placed {
        // Nothing half-written stays; when even that fails, the first error says more.
        let _ = fs::remove_dir_all(&fresh);
        return Err(Trouble::Unwritable {
            path: folder.to_owned(),
            cause: error.to_string(),
        });
    }
    Ok(())
}

fn parent_of(folder: &Path) -> Result<PathBuf, Trouble> {
    match (folder.file_name(), folder.parent()) {
        (Some(_), Some(parent)) if parent.as_os_str().is_empty() => Ok(PathBuf::from(".")),
        (Some(_), Some(parent)) => Ok(parent.to_owned()),
        _ => Err(Trouble::Unwritable {
            path: folder.to_owned(),
            cause: "name a folder to be made, not an existing place".to_owned(),
        }),
    }
}

/// What goes into each of [`NAMES`].
fn contents(page: &Page<'_>) -> Result<Vec<Vec<u8>>, Trouble> {
    let (shop, plan) = (page.shop, page.plan);
    let table = csv_list::as_csv(shop, plan).map_err(|error| Trouble::Unwritable {
        path: PathBuf::from("run-list.csv"),
        cause: error.to_string(),
    })?;
    let head = sheet::heading(shop, page.invented);
    let sheets = sheet::all(shop, plan, PAGE_WIDTH);
    Ok(vec![
        documents::write_plan(plan, shop).into_bytes(),
        full(page, PAGE_WIDTH).into_bytes(),
        table,
        format!("{head}{CAUTION}\n{sheets}").into_bytes(),
        workshop::batches(shop, plan.from).dot.into_bytes(),
    ])
}

/// Name and contents of [`PDF_NAMES`]; one that would hold nothing is left out.
fn on_paper(page: &Page<'_>, issue: &Issue) -> Result<Vec<(&'static str, Vec<u8>)>, Trouble> {
    let (shop, plan, days) = (page.shop, page.plan, page.days);
    let made = [
        paper::run_lists(shop, plan, days, issue),
        paper::changeover_sheets(shop, plan, issue),
        paper::whole_plan(shop, plan, days, issue),
    ];
    let mut out = Vec::new();
    for (&name, bytes) in PDF_NAMES.iter().zip(made) {
        match bytes {
            Ok(bytes) => out.push((name, bytes)),
            Err(PaperError::Nothing) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Ok(out)
}

/// A calendar for each brake with something on it, and each person in the plan.
fn calendars(page: &Page<'_>, issue: exchange::ical::Issue) -> Vec<(String, Vec<u8>)> {
    use exchange::ical;
    let (shop, plan) = (page.shop, page.plan);
    let mut files = Vec::new();
    for list in &plan.brakes {
        if !list.runs.is_empty() || !list.takedowns.is_empty() {
            let name = calendar_name("brake", list.brake.as_str());
            let text = ical::of_brake(shop, plan, &list.brake, issue);
            files.push((name, text.into_bytes()));
        }
    }
    for person in &shop.people {
        if plan_names(plan, &person.id) {
            let name = calendar_name("person", person.id.as_str());
            let text = ical::of_person(shop, plan, &person.id, issue);
            files.push((name, text.into_bytes()));
        }
    }
    files
}

fn plan_names(plan: &model::Plan, person: &units::PersonId) -> bool {
    plan.brakes.iter().any(|list| {
        let runs = list.runs.iter();
        let segments = runs
            .flat_map(|run| run.segments.iter().chain(&run.changeover.segments))
            .chain(
                list.takedowns
                    .iter()
                    .flat_map(|takedown| &takedown.segments),
            );
        segments
            .into_iter()
            .any(|segment| segment.crew.contains(person))
    })
}

/// `calendar-brake-B1.ics`; octets that not every system takes in a name become `_` and two digits.
fn calendar_name(of: &str, id: &str) -> String {
    let tame = |octet: u8| {
        if octet.is_ascii_alphanumeric() || matches!(octet, b'-' | b'.') {
            char::from(octet).to_string()
        } else {
            format!("_{octet:02x}")
        }
    };
    let id: String = id.bytes().map(tame).collect();
    format!("{CALENDAR}{of}-{id}.ics")
}

fn fill(fresh: &Path, files: &[(String, Vec<u8>)]) -> io::Result<()> {
    fs::create_dir(fresh)?;
    for (name, bytes) in files {
        let mut file = File::create_new(fresh.join(name))?;
        file.write_all(bytes)?;
        file.sync_all()?;
    }
    Ok(())
}

/// A folder cannot be renamed onto one that holds files, so the earlier one steps aside first, and
/// comes back should the new one not get its place.
fn put_in_place(fresh: &Path, folder: &Path, old: &Path) -> io::Result<()> {
    if !folder.exists() {
        return fs::rename(fresh, folder);
    }
    fs::rename(folder, old)?;
    if let Err(error) = fs::rename(fresh, folder) {
        fs::rename(old, folder)?;
        return Err(error);
    }
    fs::remove_dir_all(old)
}
