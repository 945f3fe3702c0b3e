//! The order's id as something a scanner reads: QR Code (ISO/IEC 18004) and Code 128.

use crate::code128;
use crate::doc::{Area, Doc};
use qrcode::{Color, EcLevel, QrCode};

/// Blank modules that must stand around a QR Code.
const QR_QUIET: f64 = 4.0;

/// Draws a QR Code with its blank margin into a square, at a correction level that bears some dirt.
/// Whether there was one to draw: text beyond the largest code has none.
pub(crate) fn qr(doc: &mut Doc, text: &str, x: f64, y: f64, side: f64) -> bool {
    let Ok(code) = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M) else {
        return false;
    };
    let across = code.width();
    #[allow(clippy::cast_precision_loss)] // a few hundred modules
    let module = side / (across as f64 + 2.0 * QR_QUIET);
    let colors = code.to_colors();
    let (left, mut top) = (x + QR_QUIET * module, y + QR_QUIET * module);
    for row in colors.chunks(across) {
        let mut at = left;
        for run in row.chunk_by(|a, b| a == b) {
            #[allow(clippy::cast_precision_loss)] // as above
            let width = run.len() as f64 * module;
            if run.first() == Some(&Color::Dark) {
                doc.rect(Area::new(at, top, width, module), Some(0.0), None);
            }
            at += width;
        }
        top += module;
    }
    true
}

/// Width of a Code 128 with its blank margins, of modules so wide; `None` where there is none.
pub(crate) fn bars_width(text: &str, module: f64) -> Option<f64> {
    let widths = code128::widths(text)?;
    let modules: u32 = widths.iter().sum::<u32>() + 2 * code128::QUIET;
    Some(f64::from(modules) * module)
}

/// Draws a Code 128 into an area of [`bars_width`].
pub(crate) fn bars(doc: &mut Doc, text: &str, area: Area, module: f64) {
    let Some(widths) = code128::widths(text) else {
        return;
    };
    let mut x = area.x + f64::from(code128::QUIET) * module;
    for (at, &width) in widths.iter().enumerate() {
        let width = f64::from(width) * module;
        if at % 2 == 0 {
            doc.rect(Area::new(x, area.y, width, area.h), Some(0.0), None);
        }
        x += width;
    }
}
