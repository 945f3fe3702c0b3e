//! Arguments of the calls that carry things in and out in formats of other programs.

use clap::Args as ClapArgs;
use std::path::PathBuf;

/// How a drawing is read, and what it does not say.
#[derive(Debug, Default, ClapArgs)]
pub(crate) struct DrawingArgs {
    /// What each layer of the drawing holds; config/drawing.toml explains every key and is used when
    /// none is named.
    #[arg(long, value_name = "FILE", requires = "dxf")]
    pub(crate) layers: Option<PathBuf>,
    /// Unit of the drawing's lengths, before the one the file names: mm, cm, m, in or ft.
    #[arg(long, value_name = "UNIT", requires = "dxf")]
    pub(crate) units: Option<String>,
    /// Included angle of bends whose layer says none, in degrees: 90 is square.
    #[arg(long, value_name = "DEGREES", requires = "dxf")]
    pub(crate) angle: Option<f64>,
    /// Inside radius of bends whose layer says none.
    #[arg(long, value_name = "MM", requires = "dxf")]
    pub(crate) radius: Option<String>,
}

/// `part`.
#[derive(Debug, ClapArgs)]
pub(crate) struct PartArgs {
    /// The shop folder: the one that holds shop.toml. Nothing in it is changed.
    pub(crate) folder: PathBuf,
    /// The flat pattern, an ASCII DXF file.
    #[arg(long, value_name = "FILE")]
    pub(crate) dxf: PathBuf,
    #[command(flatten)]
    pub(crate) drawing: DrawingArgs,
    /// Id of the part.
    #[arg(long, value_name = "PART")]
    pub(crate) id: String,
    /// What people call it; the file's name when left out.
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    /// Sheet thickness, in mm or with a unit.
    #[arg(long, value_name = "MM")]
    pub(crate) thickness: String,
    /// Material, by its id.
    #[arg(long, value_name = "MATERIAL")]
    pub(crate) material: String,
    /// Write parts.csv and bends.csv with the part's rows into this folder, both or none.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `holidays`.
#[derive(Debug, ClapArgs)]
pub(crate) struct HolidaysArgs {
    /// The shop folder: the one that holds shop.toml. Nothing in it is changed.
    pub(crate) folder: PathBuf,
    /// The holidays, an iCalendar file.
    #[arg(long, value_name = "FILE")]
    pub(crate) ics: PathBuf,
    /// For this calendar of the shop alone.
    #[arg(long, value_name = "CALENDAR")]
    pub(crate) calendar: Option<String>,
    /// From this day on, such as 2027-01-01; by default the day the shop was described.
    #[arg(long, value_name = "DATE")]
    pub(crate) from: Option<String>,
    /// So many days.
    #[arg(long, value_name = "DAYS", default_value_t = 730,
          value_parser = clap::value_parser!(u32).range(1..=3_660))]
    pub(crate) days: u32,
    /// Print JSON instead of TOML.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `orders`.
#[derive(Debug, ClapArgs)]
pub(crate) struct OrdersArgs {
    /// The shop folder: the one that holds shop.toml. Nothing in it is changed.
    pub(crate) folder: PathBuf,
    /// The other program's table, CSV or a workbook (.xlsx).
    #[arg(long, value_name = "FILE")]
    pub(crate) from: PathBuf,
    /// What its columns are called: a file with the tables columns and ignore, or the daemon's
    /// settings with the same under inbox.
    #[arg(long, value_name = "FILE")]
    pub(crate) columns: Option<PathBuf>,
    /// The workbook's sheet of this name, instead of its first.
    #[arg(long, value_name = "NAME")]
    pub(crate) sheet: Option<String>,
}
