//! config/defaults.toml: the rules and change times of a shop that says nothing else.

use super::general::General;
use super::rules::{Over, read_rules};
use crate::fields::Fields;
use crate::findings::Findings;
use crate::settings::{Settings, read_settings};
use crate::value::Minutes;
use model::{ChangeTimes, Clamping, Rules};
use units::Seconds;

const FILE: &str = "config/defaults.toml";
const TEXT: &str = include_str!("../../../../config/defaults.toml");

/// The defaults.
pub(super) struct Defaults {
    pub(super) rules: Rules,
    bolted: ChangeTimes,
    quick: ChangeTimes,
    powered: ChangeTimes,
}

impl Defaults {
    /// What a change costs with this clamping.
    pub(super) fn times(&self, clamping: Clamping) -> ChangeTimes {
        match clamping {
            Clamping::Bolted => self.bolted,
            Clamping::Quick => self.quick,
            Clamping::Powered => self.powered,
        }
    }
}

/// Reads the defaults with the reader of the shop's own settings.
///
/// They are part of the program, and a test sees to it that they are complete; were they not, the
/// findings would say so and no shop would be read.
pub(super) fn read_defaults(out: &mut Findings) -> Option<Defaults> {
    let mut rules = None;
    let mut times = [None; 3];
    read_settings(FILE, TEXT.as_bytes(), out, |file| {
        let general = General::new();
        rules = file.inside("rules", |rules| read_rules(rules, Over::Nothing, &general));
        file.inside("times", |all| {
            for (slot, key) in times.iter_mut().zip(["bolted", "quick", "powered"]) {
                *slot = all.inside(key, |times| read_times(times, None));
            }
        });
    });
    let [bolted, quick, powered] = times;
    Some(Defaults {
        rules: rules?,
        bolted: bolted?,
        quick: quick?,
        powered: powered?,
    })
}

/// What a change costs on a brake with this clamping whose files say nothing else: the defaults of
/// config/defaults.toml. `None` could only be when that file were broken, which a test excludes.
#[must_use]
pub fn default_change_times(clamping: Clamping) -> Option<ChangeTimes> {
    let defaults = read_defaults(&mut Findings::default())?;
    Some(defaults.times(clamping))
}

/// Reads change times over those given; without any given every key is required.
pub(super) fn read_times(times: &mut Settings<'_, '_>, base: Option<ChangeTimes>) -> ChangeTimes {
    let all = base.is_none();
    let mut read = |key: &'static str, given: Option<Seconds>| {
        let minutes = Minutes(1_440.0);
        let value = if all {
            times.required(key, &minutes)
        } else {
            times.optional(key, &minutes)
        };
        value.or(given).unwrap_or(Seconds::ZERO)
    };
    ChangeTimes {
        base: read("base_minutes", base.map(|base| base.base)),
        station_off: read("station_off_minutes", base.map(|base| base.station_off)),
        section_off: read("section_off_minutes", base.map(|base| base.section_off)),
        station_on: read("station_on_minutes", base.map(|base| base.station_on)),
        section_on: read("section_on_minutes", base.map(|base| base.section_on)),
        station_slide: read("station_slide_minutes", base.map(|base| base.station_slide)),
        section_turn: read("section_turn_minutes", base.map(|base| base.section_turn)),
        heavy_section: read("heavy_section_minutes", base.map(|base| base.heavy_section)),
        fingers: read("fingers_minutes", base.map(|base| base.fingers)),
        guard: read("guard_minutes", base.map(|base| base.guard)),
        program: read("program_minutes", base.map(|base| base.program)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_defaults_are_complete_and_without_findings() {
        let mut findings = Findings::default();
        assert!(read_defaults(&mut findings).is_some());
        assert_eq!(findings.finish(), Vec::new());
    }

    #[test]
    fn leaving_out_any_default_is_noticed() {
        let lines: Vec<&str> = TEXT.lines().collect();
        let keys = lines
            .iter()
            .enumerate()
            .filter(|(_, line)| line.contains(" = "));
        let mut tried = 0;
        for (left_out, line) in keys {
            tried += 1;
            let kept = lines.iter().enumerate().filter(|(at, _)| *at != left_out);
            let text: String = kept.map(|(_, line)| format!("{line}\n")).collect();
            let mut findings = Findings::default();
            read_settings(FILE, text.as_bytes(), &mut findings, |file| {
                let general = General::new();
                file.inside("rules", |rules| read_rules(rules, Over::Nothing, &general));
                file.inside("times", |all| {
                    for key in ["bolted", "quick", "powered"] {
                        all.inside(key, |times| read_times(times, None));
                    }
                });
            });
            assert!(findings.any_error(), "{line}");
        }
        // 47 rules, 4 rows of V by 4, and 3 kinds of clamping by 11 times.
        assert_eq!(tried, 47 + 4 * 4 + 3 * 11);
    }

    /// A whole change: one or two stations of eight sections off and on, with fingers, guard,
    /// program, two first pieces of a minute and the operator's approval. Bands: bolted 20 to 45,
    /// quick 12 to 25, powered 8 to 20 minutes [trade].
    #[test]
    fn whole_changes_take_plausible_time() {
        let defaults = read_defaults(&mut Findings::default()).expect("checked above");
        let bands = [
            (Clamping::Bolted, 20.0..=45.0),
            (Clamping::Quick, 12.0..=25.0),
            (Clamping::Powered, 8.0..=20.0),
        ];
        for (clamping, band) in bands {
            for (stations, sections) in [(1, 4), (2, 8)] {
                let times = defaults.times(clamping);
                let fixed = times.base + times.fingers + times.guard + times.program;
                let station = (times.station_off + times.station_on).0 * stations;
                let section = (times.section_off + times.section_on).0 * sections;
                let first = 120 + defaults.rules.approve_own.0;
                let minutes = Seconds(fixed.0 + station + section + first).minutes();
                assert!(
                    band.contains(&minutes),
                    "{clamping:?} {stations}: {minutes}"
                );
            }
        }
    }
}
