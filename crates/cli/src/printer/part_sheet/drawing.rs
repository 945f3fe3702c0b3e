//! Sections drawn in the terminal, side by side.

use documents::words::NO_SECTION;
use study::{HitStudy, OptionStudy, SectionStudy, name_of};

/// Columns of one drawing.
const COLUMNS: usize = 30;
/// Columns between two drawings.
const BETWEEN: usize = 4;

/// The section after each bend, as it lies in the brake with the gauge to the right.
pub(super) fn as_text(option: &OptionStudy, width: usize) -> String {
    let blocks: Vec<Vec<String>> = option
        .hits
        .iter()
        .filter_map(|hit| Some(block(hit, hit.section.as_ref()?)))
        .collect();
    if blocks.is_empty() {
        return format!("\n{NO_SECTION}\n");
    }
    let mut out = "\nSections after each bend, the gauge to the right\n".to_owned();
    let across = ((width + BETWEEN) / (COLUMNS + BETWEEN)).max(1);
    for row in blocks.chunks(across) {
        let height = row.iter().map(Vec::len).max().unwrap_or(0);
        for line in 0..height {
            let mut text = String::new();
            for block in row {
                let cell = block.get(line).map_or("", String::as_str);
                text.push_str(cell);
                let filled = cell.chars().count().min(COLUMNS);
                text.push_str(&" ".repeat(COLUMNS - filled + BETWEEN));
            }
            out.push_str(text.trim_end());
            out.push('\n');
        }
    }
    // The last row ends in the blocks' own empty line.
    out.truncate(out.trim_end_matches('\n').len());
    out.push('\n');
    out
}

fn block(hit: &HitStudy, section: &SectionStudy) -> Vec<String> {
    let mut lines = vec![format!("bend {}", hit.bend), verdict(section)];
    let drawn = shape::ascii(&section.finished.outline, COLUMNS);
    lines.extend(drawn.lines().map(str::to_owned));
    lines.push(String::new());
    lines
}

/// Whether the section clears its tools.
pub(super) fn verdict(section: &SectionStudy) -> String {
    match section.into {
        Some(with) => format!(
            "{:.2} mm into the {}, allowed {}",
            section.deepest_mm,
            name_of(with),
            super::decimals(section.allowance_mm, 2)
        ),
        None => "clear of the tools".to_owned(),
    }
}
