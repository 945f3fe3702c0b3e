//! Whether the stations of a setup can stand on a bed together.

use crate::bed::{Bed, Spot, Stand, free_depth};
use crate::change::{Custody, Request, change};
use crate::compose::{Composer, Span};
use crate::options::{Finder, Need, ToolingOption};
use model::{Limit, Refusal};
use units::Length;

impl Finder<'_, '_> {
    /// Closed height and free depth of a station.
    pub(crate) fn tools(&self, need: &Need) -> Option<(Length, Length)> {
        let (punch, die) = (self.stock.punch(need.punch)?, self.stock.die(need.die)?);
        Some((punch.height + die.height, free_depth(punch, die)))
    }

    /// Whether the sections owned make up every station, and all fit on an empty bed; returns the
    /// fewest sections that do.
    pub(crate) fn can_stand(
        &self,
        composer: &mut Composer,
        needs: &[Need],
    ) -> Result<usize, Box<Refusal>> {
        let mut pieces = 0;
        let (job, rules) = (self.job, &self.stock.shop().rules);
        let mut spots = Vec::new();
        for need in needs {
            let punch_span = need.punch_span.within(rules.station_overhang);
            let die_span = Span {
                least: need.die_least,
                most: Length::UNLIMITED,
                horns: false,
            };
            let mut half = |profile: usize, span: Span| {
                let found = composer.compositions(self.stock, profile, span);
                pieces += found
                    .first()
                    .map_or(0, |composition| composition.classes.len());
                found
                    .iter()
                    .map(|composition| composition.length)
                    .min()
                    .ok_or_else(|| Box::new(self.no_sections(profile, span)))
            };
            let punch_length = half(need.punch, punch_span)?;
            let die_length = half(need.die, die_span.within(rules.station_overhang))?;
            spots.push(Spot {
                length: punch_length.max(die_length),
                punch_length,
                off_centre_most: need.off_centre_most,
            });
        }
        if Bed::place(&[], job.brake.bed, rules.station_gap, &spots).is_some() {
            return Ok(pieces);
        }
        Err(Box::new(self.no_room(&spots)))
    }

    /// Which of bed and force keeps the stations from standing together.
    fn no_room(&self, spots: &[Spot]) -> Refusal {
        let (job, gap) = (self.job, self.stock.shop().rules.station_gap);
        let bed = job.brake.bed;
        let gaps = i64::try_from(spots.len().saturating_sub(1)).unwrap_or(i64::MAX);
        let gaps = gap.nanometres().saturating_mul(gaps);
        let whole =
            spots.iter().map(|spot| spot.length).sum::<Length>() + Length::from_nanometres(gaps);
        if whole > bed {
            let text = format!(
                "the stations take {:.0} mm of bed; there are {:.0} mm",
                whole.mm(),
                bed.mm()
            );
            return job.refuse(Limit::BedLength, None, (whole.mm(), bed.mm(), "mm"), text);
        }
        let Some((off, most)) = farthest_off(spots, bed, gap) else {
            let text = format!("no arrangement was found for {} stations", spots.len());
            return job.refuse(Limit::Sections, None, (whole.mm(), bed.mm(), "mm"), text);
        };
        let text = format!(
            "{} stations fit the bed, but one would stand {:.0} mm off its centre, and its force allows {:.0} mm",
            spots.len(),
            off.mm(),
            most.mm()
        );
        job.refuse(Limit::OffCentre, None, (off.mm(), most.mm(), "mm"), text)
    }

    /// Whether all stations can be laid at once: two of the same tools share one stock.
    pub(crate) fn can_be_laid(
        &self,
        composer: &mut Composer,
        option: &ToolingOption,
    ) -> Result<(), Box<Refusal>> {
        let stations = option.needs.len();
        let mut laid = |count: usize| {
            let mut some = option.clone();
            some.needs.truncate(count);
            let request = Request {
                brake: self.job.brake,
                option: &some,
                later: &[],
            };
            change(self.stock, composer, &Bed::default(), &request, &AllFree).is_some()
        };
        if stations < 2 || laid(stations) {
            return Ok(());
        }
        let most = (1..stations).rev().find(|&count| laid(count)).unwrap_or(0);
        #[allow(clippy::cast_precision_loss)]
        let numbers = (stations as f64, most as f64, "stations");
        let text =
            format!("sections owned make up {most} of the {stations} stations at once, not all");
        Err(Box::new(self.job.refuse(
            Limit::Sections,
            None,
            numbers,
            text,
        )))
    }

    fn no_sections(&self, profile: usize, span: Span) -> Refusal {
        let plain_only =
            |class: usize| span.horns || self.stock.class(class).horn == model::Horn::None;
        let owned: Length = self
            .stock
            .classes_of(profile)
            .iter()
            .filter(|&&class| plain_only(class))
            .flat_map(|&class| self.stock.class(class).members.iter())
            .map(|&section| self.stock.section_length(section))
            .sum();
        let id = self.stock.shop().profiles[profile].id();
        let horns = if span.horns {
            " with a horn at each end"
        } else {
            ""
        };
        let text = format!(
            "sections of {id} do not make up {} to {} mm{horns}; {:.0} mm are owned in all",
            span.least,
            span.most,
            owned.mm()
        );
        self.job.refuse(
            Limit::Sections,
            None,
            (span.least.mm(), owned.mm(), "mm"),
            text,
        )
    }

    pub(crate) fn no_crash(&self, option: &ToolingOption) -> Result<(), Box<Refusal>> {
        let clearance = self.stock.shop().rules.crash_clearance;
        for (index, need) in option.needs.iter().enumerate() {
            let Some((closed, depth)) = self.tools(need) else {
                continue;
            };
            if !option.clears(Some(index), closed, depth, clearance) {
                let text = "the stations' heights differ so much that one would be crushed while another bends".to_owned();
                let numbers = ((option.tallest - closed).abs().mm(), depth.mm(), "mm");
                return Err(Box::new(self.job.refuse(
                    Limit::Sections,
                    None,
                    numbers,
                    text,
                )));
            }
        }
        Ok(())
    }
}

/// Every section lies free: what matters is whether they suffice.
struct AllFree;

impl Custody for AllFree {
    fn on_this_bed(&self, _section: usize) -> bool {
        false
    }
    fn wait(&self, _section: usize) -> Option<i64> {
        Some(0)
    }
    fn wanted_elsewhere(&self, _stand: &Stand) -> bool {
        false
    }
}

/// Of stations placed without regard to force, the one farthest beyond what its force allows: how
/// far off the bed's centre it stands, and how far it may. `None` when there is no such station.
fn farthest_off(spots: &[Spot], bed: Length, gap: Length) -> Option<(Length, Length)> {
    let anywhere: Vec<Spot> = spots
        .iter()
        .map(|spot| Spot {
            off_centre_most: Length::UNLIMITED,
            ..*spot
        })
        .collect();
    let places = Bed::place(&[], bed, gap, &anywhere)?;
    let off = |(spot, left): (&Spot, Length)| {
        let off = (left + left + spot.punch_length - bed).abs().half();
        (off, spot.off_centre_most)
    };
    spots
        .iter()
        .zip(places)
        .map(off)
        .filter(|(off, most)| off > most)
        .max_by_key(|(off, most)| *off - *most)
}
