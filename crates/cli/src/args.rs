//! The command line.

pub(crate) mod exchange;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use exchange::{DrawingArgs, HolidaysArgs, OrdersArgs, PartArgs};
use std::net::SocketAddr;
use std::path::PathBuf;

/// Search steps when no budget is asked for.
pub(crate) const DEFAULT_ITERATIONS: u64 = 20_000;

/// Number the search's generators start from when none is asked for.
const DEFAULT_SEED: u64 = 1;

/// Plans of each shop that `whatif` makes.
const DEFAULT_SEEDS: u32 = 8;

/// Search steps of each of them from the plan they begin with.
const DEFAULT_FURTHER_STEPS: u64 = 2_000;

const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  done, but something needs a person: an order has no place, a plan was refused
  2  the input or the call cannot be used
  3  a fault of the program

Data goes to standard output, messages and findings to standard error.

Bending can maim. What is printed here advises; the machine's manual, the tool maker's load
ratings, local codes and a trained person come first.";

/// Schedules the press brakes of a bending shop: which order, on which brake, when, after which
/// changeover, and why.
#[derive(Debug, Parser)]
#[command(name = "brakewright", version, after_help = EXIT_CODES, max_term_width = 100)]
pub(crate) struct Args {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// One call.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Read a shop folder and report everything that is wrong with it or worth knowing.
    #[command(after_help = "Example:\n  brakewright check demo-shop")]
    Check(CheckArgs),
    /// Show a part bend by bend on every brake: tools, force, radius, deduction, gauge, or why not.
    #[command(
        after_help = "Examples:\n  brakewright bends demo-shop CH-204\n  brakewright bends \
                      demo-shop CH-204 --brake B3 --draw --explain\n  brakewright bends \
                      demo-shop BX-206 --out sections"
    )]
    Bends(BendsArgs),
    /// Plan the shop: the run list of every brake, what has no place and why, and the totals.
    #[command(
        after_help = "Examples:\n  brakewright plan demo-shop\n  brakewright plan demo-shop \
                      --from 2027-03-24T06:00 --days 2\n  brakewright plan demo-shop \
                      --json > plan.json\n  brakewright plan demo-shop --seconds 20 --out monday\n  \
                      brakewright plan demo-shop --out monday --paper a4"
    )]
    Plan(PlanArgs),
    /// Show which parts suit one bed together and what sharing it saves.
    #[command(
        after_help = "Examples:\n  brakewright batches demo-shop\n  brakewright batches demo-shop \
                      --dot > batches.dot\n  brakewright batches demo-shop --svg batches.svg"
    )]
    Batches(BatchesArgs),
    /// Plan the shop and print one changeover as a sheet for the brake.
    #[command(
        after_help = "Examples:\n  brakewright changeover demo-shop B3\n  brakewright changeover \
                      demo-shop B3 --run B3-04\n  brakewright changeover demo-shop B3 --pdf b3.pdf \
                      --paper letter"
    )]
    Changeover(ChangeoverArgs),
    /// Say when a job that is not in the shop yet would be done, with odds, and what that costs.
    #[command(
        after_help = "Examples:\n  brakewright quote demo-shop --part CH-203 --quantity 80\n  \
                      brakewright quote demo-shop --bends 12 --length 800 --width 650 --thickness 2 \
                      --material 1.4301 --quantity 80\n  brakewright quote demo-shop --dxf lid.dxf \
                      --thickness 1.5 --material DC01 --angle 90 --radius 2 --quantity 80\n  \
                      brakewright plan demo-shop --json > \
                      monday.json; brakewright quote demo-shop --part CH-203 --quantity 80 --after \
                      monday.json"
    )]
    Quote(QuoteArgs),
    /// Say which purchase pays: plan the same weeks with one change at a time, and rank the changes.
    #[command(
        after_help = "Examples:\n  brakewright whatif demo-shop\n  brakewright whatif demo-shop \
                      --change \"powered clamping on B2\" --change \"another set of V16\"\n\n\
                      Changes are written as:\n  another set of PROFILE\n  another set of PROFILE \
                      with LENGTH...\n  sections LENGTH... more of PROFILE\n  quick clamping on BRAKE \
                      (or powered)\n  R axis from LENGTH to LENGTH on BRAKE (or X, or X1/X2)\n  \
                      powered fingers on BRAKE\n  further shift on CALENDAR\n  another brake like \
                      BRAKE\n  another person like PERSON\n  PERSON trained on BRAKE\n  without DIE"
    )]
    Whatif(WhatifArgs),
    /// Make a part of a flat pattern: blank, bends and outside legs, as rows for parts.csv and bends.csv.
    #[command(
        after_help = "Examples:\n  brakewright part demo-shop --dxf lid.dxf --id LD-1 --thickness 1.5 \
                      --material DC01 --angle 90 --radius 2\n  brakewright part demo-shop --dxf \
                      lid.dxf --layers ours.toml --id LD-1 --thickness 1.5 --material DC01 --out rows"
    )]
    Part(PartArgs),
    /// Read work orders from another program's table and print them as rows of work-orders.csv.
    #[command(
        after_help = "Examples:\n  brakewright orders demo-shop --from open.xlsx --columns \
                      columns.toml > rows.csv\n  brakewright orders demo-shop --from open.csv"
    )]
    Orders(OrdersArgs),
    /// Read holidays from a calendar file and print them as the closed days of the shop's calendars.
    #[command(
        after_help = "Example:\n  brakewright holidays demo-shop --ics holidays.ics --calendar day"
    )]
    Holidays(HolidaysArgs),
    /// Judge a plan: every rule it breaks, or that it breaks none.
    #[command(
        after_help = "Example:\n  brakewright plan demo-shop --json > plan.json; brakewright \
                      verify demo-shop plan.json"
    )]
    Verify(VerifyArgs),
    /// Keep a shop's orders, plans and reports, propose a new plan whenever something happens, and
    /// serve it all to this machine or the shop's network.
    #[command(
        after_help = "Examples:\n  brakewright serve demo-shop --clock 2027-03-22T15:30:00+01:00\n  \
                      brakewright serve --config config/daemon.toml"
    )]
    Serve(ServeArgs),
    /// Look after the daemon's database: back it up, restore, bring up to date, examine.
    #[command(
        after_help = "Examples:\n  brakewright db backup --db sqlite:brakewright.db monday.backup\n  \
                      brakewright db doctor --db sqlite:brakewright.db"
    )]
    Db(DbArgs),
    /// Say who may use the daemon: accounts, roles and tokens.
    #[command(
        after_help = "Examples:\n  brakewright people put m.hall --role manager\n  brakewright \
                      people token erp --label \"orders from the office\""
    )]
    People(PeopleArgs),
}

/// `check`.
#[derive(Debug, ClapArgs)]
pub(crate) struct CheckArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `bends`.
#[derive(Debug, ClapArgs)]
pub(crate) struct BendsArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    /// The part's id.
    pub(crate) part: String,
    /// This brake alone, in depth.
    #[arg(long, value_name = "BRAKE")]
    pub(crate) brake: Option<String>,
    /// Everything of each brake's best setup: loads, sheet, springback, gauge, flat blank, other V
    /// openings, time, stations; with --brake, of every setup.
    #[arg(long)]
    pub(crate) all: bool,
    /// Draw the cross section after each bend, where it is known.
    #[arg(long)]
    pub(crate) draw: bool,
    /// Add the formulas with their sources, and what bottoming or coining would take.
    #[arg(long)]
    pub(crate) explain: bool,
    /// Write the cross section of each bend between its tools into this folder, an SVG each, all or
    /// none of them.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Print everything as JSON instead of tables.
    #[arg(long)]
    pub(crate) json: bool,
}

/// How long to search, and from which moment the plan starts.
#[derive(Clone, Debug, ClapArgs)]
pub(crate) struct BudgetArgs {
    /// First moment planned, such as 2027-03-24T06:00; by default the first shift of the day after
    /// the shop was described.
    #[arg(long, value_name = "MOMENT")]
    pub(crate) from: Option<String>,
    /// Search for so many seconds; the plan says how many steps those were.
    #[arg(long, value_name = "SECONDS", conflicts_with = "iterations",
          value_parser = clap::value_parser!(u64).range(1..=86_400))]
    pub(crate) seconds: Option<u64>,
    /// Search for so many steps; the same steps and seed give the same plan.
    #[arg(long, value_name = "STEPS", default_value_t = DEFAULT_ITERATIONS)]
    pub(crate) iterations: u64,
    /// Number the search's generators start from.
    #[arg(long, value_name = "NUMBER", default_value_t = DEFAULT_SEED)]
    pub(crate) seed: u64,
}

/// `plan`.
#[derive(Debug, ClapArgs)]
#[command(group(clap::ArgGroup::new("dated").multiple(true).args(["paper", "ical", "tables"])))]
pub(crate) struct PlanArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    #[command(flatten)]
    pub(crate) budget: BudgetArgs,
    /// Go on from this plan, written by --json: its runs that begin within the shop's frozen span
    /// keep their brake, tools and order, and the search begins with the others as they were.
    #[arg(long, value_name = "PLAN")]
    pub(crate) after: Option<PathBuf>,
    /// Show so many days of the run list; the plan always covers the shop's whole horizon.
    #[arg(long, value_name = "DAYS", default_value_t = 1,
          value_parser = clap::value_parser!(u32).range(1..=366))]
    pub(crate) days: u32,
    /// Print the plan as JSON.
    #[arg(long)]
    pub(crate) json: bool,
    /// Write plan.json, run-list.txt, run-list.csv, changeovers.txt and batches.dot into this
    /// folder, all or none of them.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// With --out: also write run-list.pdf, changeovers.pdf and plan.pdf (both in one, brake by brake)
    /// for sheets of this size.
    #[arg(long, value_name = "SIZE", requires = "out")]
    pub(crate) paper: Option<PaperSize>,
    /// With --out: also write the calendar of every brake and person who works, an iCalendar file each.
    #[arg(long, requires = "out")]
    pub(crate) ical: bool,
    /// With --out: also write plan.xlsx (runs, loads, orders, what has no place), loads.csv and
    /// orders.csv.
    #[arg(long, requires = "out")]
    pub(crate) tables: bool,
    /// In PDF sheets, calendars and workbooks: the moment the plan was made, instead of now; with it,
    /// the same call writes the same bytes.
    #[arg(long, value_name = "MOMENT", requires = "dated")]
    pub(crate) made: Option<String>,
}

/// `batches`.
#[derive(Debug, ClapArgs)]
pub(crate) struct BatchesArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    /// Print the graph in the DOT language.
    #[arg(long, conflicts_with = "json")]
    pub(crate) dot: bool,
    /// Draw the batches, their beds and what links the parts into this SVG file. A file that is not an
    /// earlier picture of batches is left alone.
    #[arg(long, value_name = "FILE")]
    pub(crate) svg: Option<PathBuf>,
    /// Print JSON instead of tables.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `changeover`.
#[derive(Debug, ClapArgs)]
pub(crate) struct ChangeoverArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    /// The brake's id.
    pub(crate) brake: String,
    #[command(flatten)]
    pub(crate) budget: BudgetArgs,
    /// The changeover before this run, such as B3-04, instead of the brake's next one.
    #[arg(long, value_name = "RUN")]
    pub(crate) run: Option<String>,
    /// Print JSON instead of a sheet.
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the sheet into this PDF file instead. A file that is not an earlier sheet is left alone.
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    pub(crate) pdf: Option<PathBuf>,
    /// With --pdf: size of the sheets.
    #[arg(long, value_name = "SIZE", requires = "pdf", default_value = "a4")]
    pub(crate) paper: PaperSize,
    /// On the PDF sheets: the moment the plan was made, instead of now; with it, the same call writes
    /// the same bytes.
    #[arg(long, value_name = "MOMENT", requires = "pdf")]
    pub(crate) made: Option<String>,
}

/// Size of printed sheets: 210 x 297 mm, or 8.5 x 11 in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperSize {
    // Doc comments here would turn every command's help into the long form.
    A4,
    Letter,
}

/// `quote`.
#[derive(Debug, ClapArgs)]
#[command(group(clap::ArgGroup::new("what").required(true).args(["part", "bends", "dxf"])))]
#[command(group(clap::ArgGroup::new("described").args(["bends", "dxf"])))]
pub(crate) struct QuoteArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    /// A part of the shop's, by its id.
    #[arg(long, value_name = "PART")]
    pub(crate) part: Option<String>,
    /// So many plain bends, for a part without a drawing.
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u8).range(1..=60),
          requires_all = ["length", "width", "thickness", "material"])]
    pub(crate) bends: Option<u8>,
    /// A part by its flat pattern, an ASCII DXF file.
    #[arg(long, value_name = "FILE", requires_all = ["thickness", "material"])]
    pub(crate) dxf: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) drawing: DrawingArgs,
    /// Blank along the bend lines, in mm or with a unit.
    #[arg(long, value_name = "MM", requires = "bends")]
    pub(crate) length: Option<String>,
    /// Blank across the bend lines.
    #[arg(long, value_name = "MM", requires = "bends")]
    pub(crate) width: Option<String>,
    /// Sheet thickness.
    #[arg(long, value_name = "MM", requires = "described")]
    pub(crate) thickness: Option<String>,
    /// Material, by its id.
    #[arg(long, value_name = "MATERIAL", requires = "described")]
    pub(crate) material: Option<String>,
    /// Outside height of the flanges, instead of the width in equal parts.
    #[arg(long, value_name = "MM", requires = "bends")]
    pub(crate) flange: Option<String>,
    /// Pieces.
    #[arg(long, value_name = "PIECES", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(crate) quantity: u32,
    /// From when the blanks are there; by default from the plan's first moment.
    #[arg(long, value_name = "MOMENT")]
    pub(crate) ready: Option<String>,
    /// The moment wished for: the odds that the job is done by then. It moves nothing.
    #[arg(long, value_name = "MOMENT")]
    pub(crate) due: Option<String>,
    /// How much an hour of waiting matters, beside an hour late of the other orders.
    #[arg(long, value_name = "WEIGHT", default_value_t = 1,
          value_parser = clap::value_parser!(u32).range(1..=99))]
    pub(crate) weight: u32,
    /// The plan that stands, written by plan --json: its runs keep brake, tools and order. Without it
    /// a plan is made now.
    #[arg(long, value_name = "PLAN")]
    pub(crate) after: Option<PathBuf>,
    /// How often the plan is played for the odds.
    #[arg(long, value_name = "PLAYS", default_value_t = 4_000,
          value_parser = clap::value_parser!(u32).range(100..=1_000_000))]
    pub(crate) samples: u32,
    /// Also write the quote as a table, to a file that is not there yet: a workbook when it ends in
    /// .xlsx, else one row of CSV.
    #[arg(long, value_name = "FILE")]
    pub(crate) table: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) budget: BudgetArgs,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `whatif`.
#[derive(Debug, ClapArgs)]
pub(crate) struct WhatifArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    /// A change to try, in words; may be given many times. Without it those worth trying in this
    /// shop are tried.
    #[arg(long = "change", value_name = "WORDS")]
    pub(crate) changes: Vec<String>,
    /// First moment planned, such as 2027-03-24T06:00; by default the first shift of the day after
    /// the shop was described.
    #[arg(long, value_name = "MOMENT")]
    pub(crate) from: Option<String>,
    /// Plans of each shop, each with a seed of its own; below 5 nothing is told apart from chance.
    #[arg(long, value_name = "NUMBER", default_value_t = DEFAULT_SEEDS,
          value_parser = clap::value_parser!(u32).range(1..=64))]
    pub(crate) seeds: u32,
    /// Search steps of the plan that a seed begins with, in the shop as it is.
    #[arg(long, value_name = "STEPS", default_value_t = DEFAULT_ITERATIONS)]
    pub(crate) iterations: u64,
    /// Search steps from there on, in the shop as it is and with each change.
    #[arg(long, value_name = "STEPS", default_value_t = DEFAULT_FURTHER_STEPS)]
    pub(crate) further: u64,
    /// The first seed; the others follow it.
    #[arg(long, value_name = "NUMBER", default_value_t = DEFAULT_SEED)]
    pub(crate) seed: u64,
    /// Print JSON instead of tables.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `verify`.
#[derive(Debug, ClapArgs)]
pub(crate) struct VerifyArgs {
    /// The shop folder: the one that holds shop.toml.
    pub(crate) folder: PathBuf,
    /// The plan, as `plan --json` writes it.
    #[arg(value_name = "PLAN.json")]
    pub(crate) plan: PathBuf,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `serve`.
#[derive(Debug, ClapArgs)]
pub(crate) struct ServeArgs {
    /// A shop folder to watch: the one that holds shop.toml. Without it shop data comes through the
    /// API alone.
    pub(crate) folder: Option<PathBuf>,
    /// A settings file; config/daemon.toml explains every key. What is given here goes before it.
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// Where everything is kept: sqlite://FILE or postgres://…
    /// [default: sqlite://brakewright.db]
    #[arg(
        long,
        value_name = "URL",
        env = "BRAKEWRIGHT_DATABASE",
        hide_env_values = true
    )]
    pub(crate) db: Option<String>,
    /// The shop's name in the database [default: shop].
    #[arg(long, value_name = "NAME")]
    pub(crate) site: Option<String>,
    /// Address to listen on; other machines are served with TLS only
    /// [default: 127.0.0.1:8077].
    #[arg(long, value_name = "ADDRESS")]
    pub(crate) listen: Option<SocketAddr>,
    /// Serve other machines without TLS: everybody on the network can then read passwords.
    #[arg(long)]
    pub(crate) open_to_others: bool,
    /// A folder in which other programs drop CSV files of work orders.
    #[arg(long, value_name = "DIR")]
    pub(crate) inbox: Option<PathBuf>,
    /// Search at most so many seconds for a proposal [default: 10].
    #[arg(long, value_name = "SECONDS")]
    pub(crate) seconds: Option<u64>,
    /// Number the search's generators start from [default: 1].
    #[arg(long, value_name = "NUMBER")]
    pub(crate) seed: Option<u64>,
    /// Let the daemon's clock begin at this moment, to try things out with a shop of another day;
    /// UTC when it has no offset of its own.
    #[arg(long, value_name = "MOMENT")]
    pub(crate) clock: Option<String>,
    /// Write the log as JSON, a line each.
    #[arg(long)]
    pub(crate) log_json: bool,
}

/// `db`.
#[derive(Debug, ClapArgs)]
pub(crate) struct DbArgs {
    /// What to do.
    #[command(subcommand)]
    pub(crate) what: DbCommand,
}

/// One call of `db`.
#[derive(Debug, Subcommand)]
pub(crate) enum DbCommand {
    /// Copy a database, in use or not, into one file; PostgreSQL too.
    Backup {
        /// The database.
        #[command(flatten)]
        db: DbUrl,
        /// The file to write; it must not be there yet.
        file: PathBuf,
    },
    /// Fill an empty database from such a file, whichever engine either is of.
    Restore {
        /// The database.
        #[command(flatten)]
        db: DbUrl,
        /// The file that was written.
        file: PathBuf,
    },
    /// Bring the tables up to date, as `serve` does when it starts.
    Migrate {
        /// The database.
        #[command(flatten)]
        db: DbUrl,
    },
    /// Examine a database: its tables, its events, and whether every site's published plan can be
    /// read back and is still accepted by the audit.
    Doctor {
        /// The database.
        #[command(flatten)]
        db: DbUrl,
    },
}

/// Which database.
#[derive(Debug, ClapArgs)]
pub(crate) struct DbUrl {
    /// The database: sqlite://FILE or postgres://…
    #[arg(
        long = "db",
        value_name = "URL",
        env = "BRAKEWRIGHT_DATABASE",
        hide_env_values = true,
        default_value = "sqlite://brakewright.db"
    )]
    pub(crate) url: String,
}

/// `people`.
#[derive(Debug, ClapArgs)]
pub(crate) struct PeopleArgs {
    /// The database.
    #[command(flatten)]
    pub(crate) db: DbUrl,
    /// The shop's name in the database.
    #[arg(long, value_name = "NAME", default_value = "shop")]
    pub(crate) site: String,
    /// What to do.
    #[command(subcommand)]
    pub(crate) what: PeopleCommand,
}

/// One call of `people`.
#[derive(Debug, Subcommand)]
pub(crate) enum PeopleCommand {
    /// Who has an account, with what role.
    List,
    /// Add an account or change its role; the password is read from standard input. An empty one
    /// leaves the account without: then it can only be used with tokens.
    Put {
        /// The name to sign in with.
        name: String,
        /// manager, lead, estimator or viewer.
        #[arg(long)]
        role: String,
    },
    /// Shut an account out: its sessions and tokens end at once.
    Disable {
        /// Its name.
        name: String,
    },
    /// Make a token for a program. It is shown once and cannot be shown again.
    Token {
        /// Whose account it acts for.
        name: String,
        /// What it is for, in words.
        #[arg(long, default_value = "")]
        label: String,
    },
}
