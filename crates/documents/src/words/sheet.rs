//! What a changeover sheet says.

use super::clock::Clock;
use super::list::people;
use super::{counted, decimals};
use model::{Bend, BendUse, Brake, BrakePlan, Run, Shop, Station, StationPiece, Takedown};
use units::{Length, Moment};

/// Whose sheets these are.
#[must_use]
pub fn sheet_title(shop: &Shop) -> String {
    format!("{}: changeover sheet", shop.name)
}

/// The program of a run, or that there is none.
#[must_use]
pub fn program_words(run: &Run) -> String {
    match &run.program {
        Some(program) => format!("program {program}, proven"),
        None => "no proven program".to_owned(),
    }
}

/// The head of a sheet, line by line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// Brake, its name, the run and the order.
    pub what: String,
    /// When the change is, how much work and by whom; or that there is none.
    pub change: String,
    /// How many of which part, of what sheet; the program.
    pub part: String,
    /// When it is bent, by whom, and when it is due.
    pub bend: String,
}

/// The head of the sheet before a run.
#[must_use]
pub fn head(shop: &Shop, brake: &Brake, run: &Run) -> Head {
    let (clock, change) = (Clock::new(shop.zone), &run.changeover);
    let part = shop.part(&run.part);
    let name = part.map_or("", |part| part.name.as_str());
    let sheet = part.map_or_else(String::new, |part| {
        format!(", {} {} mm", part.material, part.thickness)
    });
    let work = if change.steps.is_empty() {
        "no changeover: the bed and the program stay".to_owned()
    } else {
        format!(
            "change {} to {}, {} of work by {}",
            clock.long(change.start),
            clock.time_seen_from(change.end, clock.day(change.start)),
            change.work,
            people(&change.segments).join(" "),
        )
    };
    let bend = format!(
        "bend {} to {} by {}, due {}",
        clock.short(run.start),
        clock.short(run.end),
        people(&run.segments).join(" "),
        clock.short(run.due),
    );
    Head {
        what: format!(
            "{}  {}: before {}, order {}",
            brake.id, brake.name, run.name, run.order
        ),
        change: work,
        part: format!(
            "{} x {} {name}{sheet}; {}",
            run.quantity,
            run.part,
            program_words(run)
        ),
        bend,
    }
}

/// Takedowns after the run before, and before this one.
pub fn takedowns_before<'p>(
    list: &'p BrakePlan,
    run: &Run,
) -> impl Iterator<Item = &'p Takedown> + use<'p> {
    let until = run.changeover.start.min(run.start);
    let since: Option<Moment> = list
        .runs
        .iter()
        .map(|other| other.end)
        .filter(|end| *end <= until)
        .max();
    list.takedowns
        .iter()
        .filter(move |down| down.start < until && since.is_none_or(|since| down.start >= since))
}

/// Takedowns after the brake's last run.
pub fn takedowns_after_all(list: &BrakePlan) -> impl Iterator<Item = &Takedown> {
    let last = list.runs.iter().map(|run| run.end).max();
    list.takedowns
        .iter()
        .filter(move |takedown| last.is_none_or(|last| takedown.start >= last))
}

/// The head of a takedown.
#[must_use]
pub fn takedown_head(shop: &Shop, brake: &Brake, takedown: &Takedown) -> String {
    let clock = Clock::new(shop.zone);
    format!(
        "{}: take down first, {} to {}, {} by {}; {} needs the sections",
        brake.id,
        clock.short(takedown.start),
        clock.short(takedown.end),
        takedown.work,
        people(&takedown.segments).join(" "),
        takedown.wanted_by,
    )
}

/// What happens to a station in a changeover.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Handling {
    /// Taken off.
    Off,
    /// Left where and as it is.
    Stays,
    /// Its die block is turned to another V.
    Turned,
    /// Slid along the bed.
    Slid,
    /// Put on.
    On,
}

impl Handling {
    /// All of them, in the order in which sheets list them.
    pub const ALL: [Handling; 5] = [
        Handling::Off,
        Handling::Stays,
        Handling::Turned,
        Handling::Slid,
        Handling::On,
    ];

    /// The head of its list.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Handling::Off => "Comes off",
            Handling::Stays => "Stays",
            Handling::Turned => "Is turned",
            Handling::Slid => "Is slid",
            Handling::On => "Goes on",
        }
    }

    /// The shortest word for it, for a drawing.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Handling::Off => "off",
            Handling::Stays => "stays",
            Handling::Turned => "turned",
            Handling::Slid => "slid",
            Handling::On => "on",
        }
    }

    /// Whether its list is left out when nothing is in it.
    #[must_use]
    pub fn may_be_left_out(self) -> bool {
        matches!(self, Handling::Turned | Handling::Slid)
    }
}

/// A station of a changeover in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StationWords {
    /// What happens to it.
    pub handling: Handling,
    /// Its number on the bed before when it comes off, else on the bed after; from 1.
    pub number: Option<usize>,
    /// Punch, die, place, length and height.
    pub station: String,
    /// What it was before, and which way round its punch stands.
    pub notes: Vec<String>,
    /// Its punch sections from left to right.
    pub punch: String,
    /// Its die sections from left to right.
    pub die: String,
}

/// Every station of a changeover, in the order of [`Handling::ALL`].
#[must_use]
pub fn stations(shop: &Shop, run: &Run) -> Vec<StationWords> {
    let change = &run.changeover;
    let (before, after) = (bed_before(run), &run.bed);
    let words = |handling: Handling, station: &Station, was: Option<String>| {
        let bed: &[Station] = if handling == Handling::Off {
            &before
        } else {
            after
        };
        let at = bed.iter().position(|other| other.left == station.left);
        let way = way_round(shop, station).map(str::to_owned);
        StationWords {
            handling,
            number: at.map(|index| index + 1),
            station: station_words(station),
            notes: was.into_iter().chain(way).collect(),
            punch: pieces(&station.punch_sections),
            die: pieces(&station.die_sections),
        }
    };
    let off = change
        .remove
        .iter()
        .map(|one| words(Handling::Off, one, None));
    let stays = change
        .keep
        .iter()
        .map(|one| words(Handling::Stays, one, None));
    let turned = change.turn.iter().map(|one| {
        let was = format!("turned from {}", one.from);
        words(Handling::Turned, &one.station, Some(was))
    });
    let slid = change.slide.iter().map(|one| {
        let was = format!("slid from {} mm", one.from);
        words(Handling::Slid, &one.station, Some(was))
    });
    let on = change
        .insert
        .iter()
        .map(|one| words(Handling::On, one, None));
    off.chain(stays)
        .chain(turned)
        .chain(slid)
        .chain(on)
        .collect()
}

/// Punch over die, V, place, length and closed height.
fn station_words(station: &Station) -> String {
    format!(
        "{} over {} (V{}), left end at {} mm, {} mm long, closed height {} mm",
        station.punch, station.die, station.v, station.left, station.length, station.closed_height,
    )
}

/// What is said of a bed drawing.
#[must_use]
pub fn bed_caption(brake: &Brake) -> String {
    format!(
        "bed of {} mm from its left end; stations are numbered from the left",
        brake.bed
    )
}

/// What stands on the bed before the changeover, from left to right.
#[must_use]
pub fn bed_before(run: &Run) -> Vec<Station> {
    let change = &run.changeover;
    // A turned die block has another height and V than before, but the same place and length.
    let turned = change.turn.iter().map(|turned| turned.station.clone());
    let slid = change.slide.iter().map(|slid| Station {
        left: slid.from,
        ..slid.station.clone()
    });
    let same = change.remove.iter().chain(&change.keep).cloned();
    let mut before: Vec<Station> = same.chain(turned).chain(slid).collect();
    before.sort_by_key(|station| station.left);
    before
}

/// Which way round a relieved punch stands; a straight one says nothing.
#[must_use]
pub fn way_round(shop: &Shop, station: &Station) -> Option<&'static str> {
    if station.reversed {
        return Some("turned about: relief to the gauge");
    }
    let relieved = shop.punch(&station.punch)?.relief > Length::ZERO;
    relieved.then_some("relief to the operator")
}

/// Length, section and drawer of each, from left to right.
#[must_use]
pub fn pieces(sections: &[StationPiece]) -> String {
    let pieces: Vec<String> = sections
        .iter()
        .map(|piece| {
            format!(
                "{} mm ({}, drawer {})",
                piece.length, piece.section, piece.drawer
            )
        })
        .collect();
    pieces.join(" + ")
}

/// The heads of the columns of [`RunBend::cells`].
pub const BEND_COLUMNS: [&str; 13] = [
    "bend", "station", "punch", "die", "V", "angle °", "length", "way", "edge", "X", "R", "kN",
    "of limit",
];

/// A bend of a run with what it is and where it is made.
#[derive(Clone, Copy, Debug)]
pub struct RunBend<'a> {
    /// As planned.
    pub work: &'a BendUse,
    /// As drawn.
    pub bend: &'a Bend,
    /// The station that makes it.
    pub station: &'a Station,
}

/// The bends of a run that the shop knows, in order.
#[must_use]
pub fn run_bends<'a>(shop: &'a Shop, run: &'a Run) -> Vec<RunBend<'a>> {
    let part = shop.part(&run.part);
    let known = run.bends.iter().filter_map(|work| {
        let station = run.bed.get(work.station)?;
        let bend = part?.bends.iter().find(|bend| bend.number == work.bend)?;
        Some(RunBend {
            work,
            bend,
            station,
        })
    });
    known.collect()
}

impl RunBend<'_> {
    /// Its cells under [`BEND_COLUMNS`], the last of them as `load` has it.
    #[must_use]
    pub fn cells(&self, load: String) -> [String; 13] {
        let (work, bend, station) = (self.work, self.bend, self.station);
        [
            work.bend.to_string(),
            (work.station + 1).to_string(),
            station.punch.to_string(),
            station.die.to_string(),
            station.v.to_string(),
            decimals(bend.angle.get(), 2),
            bend.length.to_string(),
            format!("{:?}", bend.direction).to_lowercase(),
            format!("{:?}", bend.edge).to_lowercase(),
            decimals(work.x.mm(), 2),
            decimals(work.r.mm(), 2),
            format!("{:.0}", work.force.get()),
            load,
        ]
    }

    /// Said where it comes near a limit.
    #[must_use]
    pub fn careful(&self, load: &str) -> String {
        format!("Careful, bend {}: {load} of what it bears.", self.work.bend)
    }
}

/// What has to be heeded at a changeover and a run beside the loads.
#[must_use]
pub fn cautions(shop: &Shop, run: &Run) -> Vec<String> {
    let mut out = Vec::new();
    let crew = run.segments.iter().map(|segment| segment.crew.len()).max();
    if crew.is_some_and(|crew| crew > 1) {
        out.push("More than one person works here: agree who works the pedal.".to_owned());
    }
    let heavy = heavy_sections(shop, run);
    if heavy > 0 {
        out.push(format!(
            "{} heavier than {} kg: two people or a crane, and nobody under it.",
            counted(heavy, "section is", "sections are"),
            shop.rules.heavy_section_mass.get()
        ));
    }
    out
}

fn heavy_sections(shop: &Shop, run: &Run) -> usize {
    let change = &run.changeover;
    let carried = change.remove.iter().chain(&change.insert);
    let turned = change.turn.iter().map(|turned| &turned.station);
    carried
        .flat_map(|station| station.punch_sections.iter().chain(&station.die_sections))
        .chain(turned.flat_map(|station| &station.die_sections))
        .filter_map(|piece| shop.section(&piece.section))
        .filter(|section| section.mass > shop.rules.heavy_section_mass)
        .count()
}
