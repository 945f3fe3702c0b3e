//! `orders`: work orders out of another program's table, as the shop's own table has them.

use super::{load, read_up_to};
use crate::args::exchange::OrdersArgs;
use crate::printer::{Printer, order_table};
use crate::trouble::{Ended, Trouble};
use documents::{ColumnNames, order_rows};
use exchange::table;
use units::OrderId;
use workshop::{Base, read_folder};

/// Reads no more of a table than this and one byte.
const TABLE_BYTES_MOST: usize = 64 * 1024 * 1024;

/// Prints the rows when every one of them can be used.
pub(super) fn run(args: &OrdersArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let shop = load(&args.folder, printer)?.shop;
    let names = match &args.columns {
        None => ColumnNames::default(),
        Some(path) => {
            let bytes = read_up_to(path, TABLE_BYTES_MOST)?;
            ColumnNames::read(&path.display().to_string(), &bytes).map_err(Trouble::Findings)?
        }
    };
    let file = args.from.display().to_string();
    let bytes = read_up_to(&args.from, TABLE_BYTES_MOST)?;
    let rows = if table::is_packed(&bytes) {
        let text = table::as_table(&file, &bytes, args.sheet.as_deref());
        let text = text.map_err(Trouble::Findings)?;
        order_rows(&file, text.as_bytes(), &names)
    } else if args.sheet.is_some() {
        return Err(Trouble::Usage(format!(
            "--sheet: {file} is no workbook and has no sheets"
        )));
    } else {
        order_rows(&file, &bytes, &names)
    }
    .map_err(Trouble::Findings)?;
    let (base, findings) = Base::read(&read_folder(&args.folder)?);
    let base = base.ok_or(Trouble::Findings(findings))?;
    let others = |id: &OrderId| shop.order(id);
    let orders = base
        .read_orders(&file, &rows, &others)
        .map_err(Trouble::Findings)?;
    printer.data(&order_table::as_csv(&rows))?;
    printer.message(&format!(
        "{} read from {file}; the shop's folder is not changed.",
        crate::printer::counted(orders.len(), "order", "orders")
    ));
    Ok(Ended::Done)
}
