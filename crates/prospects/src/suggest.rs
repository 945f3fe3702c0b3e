//! The changes worth trying when nobody names any.

use crate::change::{Change, GaugeAxis};
use documents::words::counted;
use model::{
    Clamping, Die, Limit, Plan, Profile, Refusal, SectionStatus, Shop, Station, Takedown, ZDrive,
};
use std::collections::{BTreeMap, BTreeSet};
use units::{BrakeId, Length, PartId, PersonId, ProfileId, Seconds};

/// At most so many sets, tools being many.
const SETS_MOST: usize = 12;
/// At most so many of every other kind.
const OTHERS_MOST: usize = 6;

/// Gauge ranges are sold in steps; a range asked for is rounded up to this [trade].
const RANGE_STEP_MM: i64 = 50;

/// A change to try, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// The change.
    pub change: Change,
    /// Why it is tried, in words.
    pub reason: String,
}

impl Candidate {
    /// A change that somebody named.
    #[must_use]
    pub fn asked(change: Change) -> Candidate {
        Candidate {
            change,
            reason: "asked for".to_owned(),
        }
    }
}

/// A brake's refusal of a part with open orders.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// The part.
    pub part: PartId,
    /// Why not.
    pub refusal: Refusal,
}

/// What to try in a shop: sets of the tools its plan uses, quicker clamping and driven fingers where
/// it changes tools, gauge axes that brakes refuse parts for, a shift more, another of its busy brakes
/// and people, training, and V openings it hardly uses. In this order, each kind with what matters most
/// first, at most 12 sets and 6 of each other kind. Every change can be made.
#[must_use]
pub fn suggest(shop: &Shop, plan: &Plan, refused: &[Refused]) -> Vec<Candidate> {
    let seen = Seen::of(shop, plan);
    let kinds = [
        (sets(shop, &seen), SETS_MOST),
        (clampings(shop, &seen), OTHERS_MOST),
        (fingers(shop, &seen), OTHERS_MOST),
        (axes(shop, refused), OTHERS_MOST),
        (shifts(shop, &seen), OTHERS_MOST),
        (brakes(shop, &seen), OTHERS_MOST),
        (people(shop, &seen), OTHERS_MOST),
        (training(shop, &seen), OTHERS_MOST),
        (fewer(shop, &seen), OTHERS_MOST),
    ];
    let mut out = Vec::new();
    for (found, most) in kinds {
        let possible = found
            .into_iter()
            .filter(|one| one.change.apply(shop).is_ok());
        out.extend(possible.take(most));
    }
    out
}

/// How a plan uses what a shop has.
struct Seen {
    /// By what sections are stocked as: runs, brakes, and changes that take it off for another brake.
    tools: BTreeMap<ProfileId, Use>,
    /// Runs by die.
    dies: BTreeMap<ProfileId, usize>,
    /// By brake: work in changes and in runs, changes in which a tool was moved.
    brakes: BTreeMap<BrakeId, Work>,
    /// Time worked.
    people: BTreeMap<PersonId, Seconds>,
    runs: usize,
}

#[derive(Default)]
struct Use {
    runs: usize,
    brakes: BTreeSet<BrakeId>,
    taken_down: usize,
}

#[derive(Default)]
struct Work {
    changes: Seconds,
    runs: Seconds,
    moved: usize,
}

/// What the sections of a die are stocked as.
fn stock_of(die: &Die) -> &ProfileId {
    die.block.as_ref().unwrap_or(&die.id)
}

impl Seen {
    fn of(shop: &Shop, plan: &Plan) -> Seen {
        let mut seen = Seen {
            tools: BTreeMap::new(),
            dies: BTreeMap::new(),
            brakes: BTreeMap::new(),
            people: BTreeMap::new(),
            runs: 0,
        };
        for list in &plan.brakes {
            for run in &list.runs {
                seen.run(shop, &list.brake, run);
            }
            for takedown in &list.takedowns {
                seen.takedown(shop, &list.brake, takedown);
            }
        }
        seen
    }

    fn run(&mut self, shop: &Shop, brake: &BrakeId, run: &model::Run) {
        self.runs += 1;
        let used: BTreeSet<usize> = run.bends.iter().map(|bend| bend.station).collect();
        let stations = used.into_iter().filter_map(|index| run.bed.get(index));
        let mut profiles = BTreeSet::new();
        let mut dies = BTreeSet::new();
        for station in stations {
            profiles.extend(stocks(shop, station));
            dies.insert(station.die.clone());
        }
        for profile in profiles {
            let tool = self.tools.entry(profile).or_default();
            tool.runs += 1;
            tool.brakes.insert(brake.clone());
        }
        for die in dies {
            *self.dies.entry(die).or_default() += 1;
        }
        let change = &run.changeover;
        let tools_moved = [change.remove.len(), change.insert.len()];
        let about = change.turn.len() + change.slide.len();
        let work = self.brakes.entry(brake.clone()).or_default();
        work.changes += change.work;
        work.runs += run.run_time;
        work.moved += usize::from(tools_moved.iter().sum::<usize>() + about > 0);
        self.worked(change.segments.iter().chain(&run.segments));
    }

    fn takedown(&mut self, shop: &Shop, brake: &BrakeId, takedown: &Takedown) {
        let work = self.brakes.entry(brake.clone()).or_default();
        work.changes += takedown.work;
        work.moved += 1;
        for station in &takedown.remove {
            for profile in stocks(shop, station) {
                self.tools.entry(profile).or_default().taken_down += 1;
            }
        }
        self.worked(takedown.segments.iter());
    }

    fn worked<'a>(&mut self, segments: impl Iterator<Item = &'a model::Segment>) {
        for segment in segments {
            for person in &segment.crew {
                *self.people.entry(person.clone()).or_default() += segment.end - segment.start;
            }
        }
    }

    fn work(&self, brake: &BrakeId) -> (Seconds, Seconds, usize) {
        let work = self.brakes.get(brake);
        work.map_or((Seconds::ZERO, Seconds::ZERO, 0), |work| {
            (work.changes, work.runs, work.moved)
        })
    }
}

/// What the sections of a station are stocked as: its punch, and its die or the die's block.
fn stocks(shop: &Shop, station: &Station) -> [ProfileId; 2] {
    let die = shop.die(&station.die).map_or(&station.die, stock_of);
    [station.punch.clone(), die.clone()]
}

/// `1 run`, `2 runs`, `2 people`.
fn count(number: usize, what: &str) -> String {
    let many = match what {
        "person" => "people".to_owned(),
        _ => format!("{what}s"),
    };
    counted(number, what, &many)
}

/// Tools used on most brakes and taken down for another most often come first: those are waited for.
fn sets(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    let mut used: Vec<(&ProfileId, &Use)> = seen.tools.iter().collect();
    used.sort_by_key(|(_, tool)| {
        let waited = (tool.taken_down, tool.brakes.len(), tool.runs);
        std::cmp::Reverse(waited)
    });
    let candidate = |(profile, tool): (&ProfileId, &Use)| Candidate {
        change: Change::AnotherSet {
            profile: profile.clone(),
            lengths: Vec::new(),
        },
        reason: format!(
            "used by {} on {}, taken down for another brake {}; {} owned",
            count(tool.runs, "run"),
            count(tool.brakes.len(), "brake"),
            count(tool.taken_down, "time"),
            count(sets_owned(shop, profile), "set"),
        ),
    };
    used.into_iter().map(candidate).collect()
}

fn sets_owned(shop: &Shop, profile: &ProfileId) -> usize {
    let good = |section: &&model::Section| {
        section.profile == *profile && section.status == SectionStatus::Good
    };
    let sections = shop.sections.iter().filter(good);
    let sets: BTreeSet<&str> = sections.map(|one| one.set.as_str()).collect();
    sets.len()
}

/// Brakes by a figure, the largest first, without those at zero.
fn brakes_by(shop: &Shop, figure: impl Fn(&BrakeId) -> i64) -> Vec<&model::Brake> {
    let mut brakes: Vec<&model::Brake> = shop.brakes.iter().collect();
    brakes.retain(|brake| figure(&brake.id) > 0);
    brakes.sort_by_key(|brake| std::cmp::Reverse(figure(&brake.id)));
    brakes
}

fn clampings(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    let mut out = Vec::new();
    for brake in brakes_by(shop, |brake| seen.work(brake).0.0) {
        let (changes, _, moved) = seen.work(&brake.id);
        let quicker: &[Clamping] = match brake.clamping {
            Clamping::Bolted => &[Clamping::Powered, Clamping::Quick],
            Clamping::Quick => &[Clamping::Powered],
            Clamping::Powered => &[],
        };
        if moved == 0 {
            continue;
        }
        out.extend(quicker.iter().map(|&clamping| Candidate {
            change: Change::Clamping {
                brake: brake.id.clone(),
                clamping,
            },
            reason: format!(
                "{} of tools, {changes} of changeovers",
                count(moved, "change")
            ),
        }));
    }
    out
}

fn fingers(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    brakes_by(shop, |brake| seen.work(brake).0.0)
        .into_iter()
        .filter(|brake| brake.gauge.z == ZDrive::Hand && seen.work(&brake.id).2 > 0)
        .map(|brake| Candidate {
            change: Change::PoweredFingers {
                brake: brake.id.clone(),
            },
            reason: format!(
                "slid by hand at {} of tools",
                count(seen.work(&brake.id).2, "change")
            ),
        })
        .collect()
}

/// For each brake and axis that parts are refused for: far enough for all of them.
fn axes(shop: &Shop, refused: &[Refused]) -> Vec<Candidate> {
    let mut wanted: Vec<(&BrakeId, GaugeAxis, BTreeSet<&PartId>, [f64; 2])> = Vec::new();
    for one in refused {
        let axis = match one.refusal.limit {
            Limit::GaugeX => GaugeAxis::X,
            Limit::GaugeX1X2 => GaugeAxis::XDifference,
            Limit::GaugeR => GaugeAxis::R,
            _ => continue,
        };
        let (brake, needed) = (&one.refusal.brake, one.refusal.needed);
        match wanted
            .iter_mut()
            .find(|(of, which, ..)| *of == brake && *which == axis)
        {
            Some((_, _, parts, [least, most])) => {
                parts.insert(&one.part);
                (*least, *most) = (least.min(needed), most.max(needed));
            }
            None => wanted.push((brake, axis, BTreeSet::from([&one.part]), [needed; 2])),
        }
    }
    wanted.sort_by_key(|(_, _, parts, _)| std::cmp::Reverse(parts.len()));
    let candidate = |(brake, axis, parts, ends): (&BrakeId, _, BTreeSet<_>, [f64; 2])| {
        let [least, most] = ends;
        let (from, to) = range(shop, axis, least, most);
        Candidate {
            change: Change::Axis {
                brake: brake.clone(),
                axis,
                from,
                to,
            },
            reason: format!(
                "{} with open orders refused there for it",
                count(parts.len(), "part")
            ),
        }
    };
    wanted.into_iter().map(candidate).collect()
}

/// As far as is needed, and no less than such an axis goes on another brake here.
fn range(shop: &Shop, axis: GaugeAxis, least: f64, most: f64) -> (Length, Length) {
    let owned = shop.brakes.iter().filter_map(|brake| match axis {
        GaugeAxis::X => None,
        GaugeAxis::XDifference => brake.gauge.x_difference,
        GaugeAxis::R => brake.gauge.r,
    });
    let step = Length::from_whole_mm(RANGE_STEP_MM).nanometres();
    let steps = |mm: f64, up: i64| {
        let nm = Length::from_mm(mm).nanometres();
        Length::from_nanometres(((nm + up).div_euclid(step)) * step)
    };
    let from = steps(least.min(0.0), 0);
    let to = steps(most.max(0.0), step - 1).max(Length::from_nanometres(step));
    owned.fold((from, to), |(from, to), axis| {
        (from.min(axis.from), to.max(axis.to))
    })
}

fn shifts(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    let mut work: Vec<(&units::CalendarId, Seconds, usize)> = Vec::new();
    for brake in &shop.brakes {
        let (changes, runs, _) = seen.work(&brake.id);
        let more = changes + runs;
        match work.iter_mut().find(|(id, ..)| *id == &brake.calendar) {
            Some((_, sum, brakes)) => (*sum, *brakes) = (*sum + more, *brakes + 1),
            None => work.push((&brake.calendar, more, 1)),
        }
    }
    work.retain(|(_, sum, _)| *sum > Seconds::ZERO);
    work.sort_by_key(|(_, sum, _)| std::cmp::Reverse(*sum));
    let candidate = |(calendar, sum, brakes): (&units::CalendarId, Seconds, usize)| Candidate {
        change: Change::FurtherShift {
            calendar: calendar.clone(),
        },
        reason: format!("{sum} of work on its {}", count(brakes, "brake")),
    };
    work.into_iter().map(candidate).collect()
}

fn brakes(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    let all = |brake: &BrakeId| {
        let (changes, runs, _) = seen.work(brake);
        changes + runs
    };
    brakes_by(shop, |brake| all(brake).0)
        .into_iter()
        .map(|brake| Candidate {
            change: Change::AnotherBrake {
                like: brake.id.clone(),
            },
            reason: format!("{} of work on it", all(&brake.id)),
        })
        .collect()
}

/// One for all with the same role, hours and training; the busiest first.
fn people(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    let mut alike: Vec<(&model::Person, Seconds, usize)> = Vec::new();
    for person in &shop.people {
        let worked = seen.people.get(&person.id).copied().unwrap_or_default();
        let same = |other: &model::Person| {
            (other.role, &other.calendar, &other.brakes)
                == (person.role, &person.calendar, &person.brakes)
        };
        match alike.iter_mut().find(|(other, ..)| same(other)) {
            Some((_, sum, number)) => (*sum, *number) = (*sum + worked, *number + 1),
            None => alike.push((person, worked, 1)),
        }
    }
    alike.retain(|(_, sum, _)| *sum > Seconds::ZERO);
    let each = |(_, sum, number): &(_, Seconds, usize)| {
        sum.0 / i64::try_from(*number).unwrap_or(i64::MAX).max(1)
    };
    alike.sort_by_key(|one| std::cmp::Reverse(each(one)));
    alike
        .into_iter()
        .map(|(person, sum, number)| Candidate {
            change: Change::AnotherPerson {
                like: person.id.clone(),
            },
            reason: if number == 1 {
                format!("{sum} of work")
            } else {
                format!("{number} alike, {sum} of work between them")
            },
        })
        .collect()
}

/// For brakes that fewest are trained on, the person who works least.
fn training(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    let trained = |brake: &BrakeId| {
        let people = shop.people.iter();
        people.filter(|one| one.brakes.contains(brake)).count()
    };
    let mut brakes = brakes_by(shop, |brake| seen.work(brake).1.0);
    brakes.sort_by_key(|brake| trained(&brake.id));
    let candidate = |brake: &model::Brake| {
        let others = shop.people.iter();
        let others = others.filter(|one| !one.brakes.contains(&brake.id));
        let idle =
            others.min_by_key(|one| seen.people.get(&one.id).copied().unwrap_or_default())?;
        Some(Candidate {
            change: Change::Trained {
                person: idle.id.clone(),
                brake: brake.id.clone(),
            },
            reason: format!(
                "{} trained on that brake",
                count(trained(&brake.id), "person")
            ),
        })
    };
    brakes.into_iter().filter_map(candidate).collect()
}

/// V openings that fewest runs use: what would be missed without them.
fn fewer(shop: &Shop, seen: &Seen) -> Vec<Candidate> {
    let runs = |die: &ProfileId| seen.dies.get(die).copied().unwrap_or(0);
    let dies = shop.profiles.iter().filter_map(|profile| match profile {
        Profile::Die(die) if !die.flattening => Some(&die.id),
        _ => None,
    });
    let mut dies: Vec<&ProfileId> = dies.collect();
    dies.sort_by_key(|die| runs(die));
    let candidate = |die: &ProfileId| Candidate {
        change: Change::Without { die: die.clone() },
        reason: format!("used by {} of {}", runs(die), count(seen.runs, "run")),
    };
    dies.into_iter().take(3).map(candidate).collect()
}
