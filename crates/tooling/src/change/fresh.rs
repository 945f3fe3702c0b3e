//! New stations: which sections, from where.

use super::draft::Draft;
use crate::compose::{Composer, Composition, Span};
use crate::options::Need;
use units::{Length, Seconds};

/// A new station before it has a place.
pub(super) struct Fresh {
    pub(super) need: usize,
    pub(super) punch_sections: Vec<usize>,
    pub(super) die_sections: Vec<usize>,
    pub(super) reversed: bool,
    pub(super) off_centre_most: Length,
}

/// Sections for a new station.
pub(super) struct Choice {
    punch_sections: Vec<usize>,
    die_sections: Vec<usize>,
    free_first: Vec<usize>,
    wait: i64,
    /// Seconds of waiting and of taking apart what else stands in these sections.
    disturbance: i64,
}

struct Half {
    sections: Vec<usize>,
    free_first: Vec<usize>,
    wait: i64,
    cost: i64,
}

enum From {
    OwnBed(usize),
    Elsewhere,
}

impl Draft<'_, '_> {
    /// Makes up a new station of the sections chosen for a need: long enough for the runs after it
    /// as well, where one length can serve them all.
    pub(super) fn make_up(
        &mut self,
        composer: &mut Composer,
        index: usize,
        mut choice: Choice,
    ) -> Fresh {
        let need = &self.request.option.needs[index];
        let mut wide = need.clone();
        for option in self.made_for() {
            let same = option
                .needs
                .iter()
                .find(|n| n.punch == need.punch && n.die == need.die);
            let Some(shared) = same.and_then(|later| wide.shared_with(later)) else {
                break;
            };
            if shared != wide {
                let Some(better) = self.choose(composer, &shared) else {
                    break;
                };
                if better.wait > choice.wait {
                    break;
                }
                choice = better;
                wide = shared;
            }
        }
        for stand in choice.free_first {
            self.off[stand] = true;
        }
        self.wait = self.wait.max(choice.wait);
        self.taken
            .extend(choice.punch_sections.iter().chain(&choice.die_sections));
        if !wide.ways.plain {
            choice.punch_sections.reverse();
        }
        Fresh {
            need: index,
            punch_sections: choice.punch_sections,
            die_sections: choice.die_sections,
            reversed: !wide.ways.plain,
            off_centre_most: wide.off_centre_most,
        }
    }

    /// Chooses the sections of a new station for a need; `None` when they cannot be had.
    pub(super) fn choose(&self, composer: &mut Composer, need: &Need) -> Option<Choice> {
        let overhang = self.stock.shop().rules.station_overhang;
        let punch = self.choose_half(composer, need.punch, need.punch_span.within(overhang))?;
        let die_span = Span {
            least: need.die_least,
            most: Length::UNLIMITED,
            horns: false,
        };
        let die = self.choose_half(composer, need.die, die_span.within(overhang))?;
        let pieces = i64::try_from(punch.sections.len() + die.sections.len()).unwrap_or(i64::MAX);
        let apart = punch.cost + die.cost - pieces * self.request.brake.times.section_on.0;
        let mut free_first = punch.free_first;
        free_first.extend(die.free_first);
        Some(Choice {
            punch_sections: punch.sections,
            die_sections: die.sections,
            free_first,
            wait: punch.wait.max(die.wait),
            disturbance: apart - punch.wait.min(die.wait),
        })
    }

    /// Seconds that a new station of these sections costs.
    pub(super) fn cost_of(&self, choice: &Choice) -> Seconds {
        let sections = choice.punch_sections.iter().chain(&choice.die_sections);
        let on = self.work().on_of(sections.copied());
        on + Seconds(choice.disturbance) + self.request.brake.times.guard
    }

    /// The composition that is soonest at hand and disturbs least.
    fn choose_half(&self, composer: &mut Composer, profile: usize, span: Span) -> Option<Half> {
        let compositions = composer.compositions(self.stock, profile, span);
        let mut best: Option<Half> = None;
        for composition in compositions.iter() {
            let Some(half) = self.gather(composition) else {
                continue;
            };
            // Fewest sections come first: one that disturbs nothing cannot be bettered.
            let undisturbing = half.wait == 0 && half.free_first.is_empty();
            if best.as_ref().is_none_or(|best| half.cost < best.cost) {
                best = Some(half);
            }
            if undisturbing {
                break;
            }
        }
        best
    }

    /// Physical sections for a composition, from where they are soonest at hand.
    fn gather(&self, composition: &Composition) -> Option<Half> {
        let mut half = Half {
            sections: Vec::new(),
            free_first: Vec::new(),
            wait: 0,
            cost: 0,
        };
        let piece = self.request.brake.times.section_on.0;
        for &class in &composition.classes {
            let (cost, section, from) = self
                .stock
                .class(class)
                .members
                .iter()
                .copied()
                .filter(|section| !self.taken.contains(section) && !half.sections.contains(section))
                .filter_map(|section| self.reach(section, &half.free_first))
                .min_by_key(|&(cost, section, _)| (cost, section))?;
            half.sections.push(section);
            half.cost += piece;
            match from {
                From::OwnBed(stand) => {
                    if !half.free_first.contains(&stand) {
                        half.free_first.push(stand);
                        half.cost += cost;
                    }
                }
                From::Elsewhere => {
                    half.wait = half.wait.max(cost);
                }
            }
        }
        half.cost += half.wait;
        Some(half)
    }

    fn reach(&self, section: usize, freed: &[usize]) -> Option<(i64, usize, From)> {
        let own = self
            .bed
            .stands
            .iter()
            .position(|stand| stand.holds(section));
        let Some(stand) = own else {
            return self
                .custody
                .wait(section)
                .map(|wait| (wait, section, From::Elsewhere));
        };
        if self.serving.contains(&Some(stand)) {
            return None;
        }
        let times = &self.request.brake.times;
        let cost = if self.off[stand] || freed.contains(&stand) {
            0
        } else if self.next_use(stand) == usize::MAX {
            times.station_off.0
        } else {
            times.station_off.0 + times.station_on.0 + times.base.0
        };
        Some((cost, section, From::OwnBed(stand)))
    }
}
