//! What a packed file holds, looked at before anything reads it: nothing that grows without end, and
//! no formulas.

use crate::codes::{FORMULA, NO_WORKBOOK, TOO_LARGE, error, shown};
use std::io::{Cursor, Read};
use units::Finding;
use zip::{CompressionMethod, ZipArchive};

/// Largest file, packed.
const PACKED_MOST: usize = 16 * 1024 * 1024;
/// Everything in it together, unpacked.
const UNPACKED_MOST: u64 = 64 * 1024 * 1024;
/// Entries.
const ENTRIES_MOST: usize = 2_000;
/// An entry of some size unpacks to at most so many times its packed size.
const RATIO_MOST: u64 = 200;
/// Smaller entries may be packed as tightly as they like.
const SMALL: u64 = 1024 * 1024;

/// Unpacks everything once and throws it away, counting; what was declared is not believed.
pub(super) fn check(file: &str, bytes: &[u8]) -> Result<(), Finding> {
    let refuse = |found: String| {
        let action = "save the table as .xlsx, or as CSV";
        error(
            NO_WORKBOOK,
            (file, 0),
            found,
            "a workbook of Office Open XML",
            action,
        )
    };
    let large = |found: String| {
        let expected = "at most 16 MiB packed, 64 MiB unpacked, 200 to 1, 2000 entries";
        let action = "save the one sheet that matters, without pictures, or as CSV";
        error(TOO_LARGE, (file, 0), found, expected, action)
    };
    if bytes.len() > PACKED_MOST {
        return Err(large(format!("{} bytes", bytes.len())));
    }
    let mut packed =
        ZipArchive::new(Cursor::new(bytes)).map_err(|cause| refuse(shown(&cause.to_string())))?;
    if packed.len() > ENTRIES_MOST {
        return Err(large(format!("{} entries", packed.len())));
    }
    let declared: u64 = (0..packed.len())
        .filter_map(|at| packed.by_index_raw(at).ok().map(|entry| entry.size()))
        .fold(0, u64::saturating_add);
    if declared > UNPACKED_MOST {
        return Err(large(format!("{declared} bytes unpacked, as it says")));
    }
    let mut unpacked: u64 = 0;
    for at in 0..packed.len() {
        let entry = packed
            .by_index(at)
            .map_err(|cause| refuse(shown(&cause.to_string())))?;
        let name = entry
            .name()
            .map_err(|cause| refuse(shown(&cause.to_string())))?
            .into_owned();
        if entry.encrypted()
            || !matches!(
                entry.compression(),
                CompressionMethod::Stored | CompressionMethod::Deflated
            )
        {
            return Err(refuse(format!("{} packed in another way", shown(&name))));
        }
        let tight = entry.compressed_size().max(1);
        let left = UNPACKED_MOST - unpacked;
        let mut content = Vec::new();
        entry
            .take(left + 1)
            .read_to_end(&mut content)
            .map_err(|cause| refuse(format!("{}: {}", shown(&name), shown(&cause.to_string()))))?;
        let size = content.len() as u64;
        if size > left {
            return Err(large("more unpacked than that".to_owned()));
        }
        if size > SMALL && size / tight > RATIO_MOST {
            return Err(large(format!("{}, {} to 1", shown(&name), size / tight)));
        }
        unpacked += size;
        if name.to_ascii_lowercase().contains("worksheets/") {
            no_formula(file, &content)?;
        }
    }
    Ok(())
}

/// Refuses a sheet with a formula: what it shows was worked out elsewhere and may be old.
fn no_formula(file: &str, sheet: &[u8]) -> Result<(), Finding> {
    let Ok(text) = std::str::from_utf8(sheet) else {
        let action = "save the table again as .xlsx, or as CSV";
        let expected = "sheets in UTF-8";
        return Err(error(
            NO_WORKBOOK,
            (file, 0),
            "a sheet in another encoding",
            expected,
            action,
        ));
    };
    for (at, _) in text.match_indices("<f") {
        let rest = text.get(at + 2..).unwrap_or_default();
        if rest.starts_with(['>', '/', ' ', '\t', '\r', '\n']) {
            let before = text.get(..at).unwrap_or_default();
            let cell = before.rfind(" r=").and_then(|at| before.get(at + 4..));
            let cell = cell.and_then(|rest| rest.split(['"', '\'']).next());
            return Err(formula(file, cell.unwrap_or_default()));
        }
    }
    Ok(())
}

/// The finding about a formula.
pub(super) fn formula(file: &str, cell: &str) -> Finding {
    error(
        FORMULA,
        (file, 0),
        format!("a formula in the cell {}", shown(cell)),
        "values alone",
        "put the values in place of the formulas, or save the table as CSV",
    )
}
