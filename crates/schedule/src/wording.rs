//! The steps of a change in words.

use crate::lift::Writer;
use crate::timing::TimedTakedown;
use model::{Step, StepKind};
use tooling::{BedChange, Stand, StepTime};

impl Writer<'_, '_> {
    /// The steps of a changeover.
    pub(crate) fn steps(&self, steps: &[StepTime], change: &BedChange) -> Vec<Step> {
        let text = |step: &StepTime| self.words(step.kind, step.stand?, change);
        steps.iter().map(|step| written(step, text(step))).collect()
    }

    /// The steps of a takedown.
    pub(crate) fn takedown_steps(&self, timed: &TimedTakedown) -> Vec<Step> {
        let text = |step: &StepTime| Some(self.take_off(timed.removed.get(step.stand?)?));
        let steps = timed.steps.iter();
        steps.map(|step| written(step, text(step))).collect()
    }

    /// What is done with a station: `index` counts as the step does.
    fn words(&self, kind: StepKind, index: usize, change: &BedChange) -> Option<String> {
        if kind == StepKind::TakeOff {
            return Some(self.take_off(change.removed.get(index)?));
        }
        let stand = change.bed.stands.get(index)?;
        let (number, tools, left) = (index + 1, self.tools(stand), stand.left);
        match kind {
            StepKind::Turn => {
                let profiles = &self.problem.shop.profiles;
                let from = profiles.get(change.die_before(index)?)?.id();
                let to = profiles.get(stand.die)?.id();
                let die = self.list(&stand.die_sections);
                Some(format!(
                    "turn the die block of station {number} at {left} mm from {from} to {to}, the ram \
                     secured as the machine's manual says: {die}; its punch stays"
                ))
            }
            StepKind::Slide => {
                let from = change.left_before(index)?;
                Some(format!(
                    "slide station {number}, {tools}, from {from} to {left} mm (its left end) and align it"
                ))
            }
            StepKind::PutOn => Some(format!(
                "put on {tools} with its left end at {left} mm: {}",
                self.pieces(stand)
            )),
            _ => None,
        }
    }

    fn take_off(&self, stand: &Stand) -> String {
        let (tools, pieces) = (self.tools(stand), self.pieces(stand));
        format!("take off {tools} at {} mm: {pieces}", stand.left)
    }

    fn tools(&self, stand: &Stand) -> String {
        let profiles = &self.problem.shop.profiles;
        format!(
            "{} over {}",
            profiles[stand.punch].id(),
            profiles[stand.die].id()
        )
    }

    /// Punch and die sections by length and drawer, left to right.
    fn pieces(&self, stand: &Stand) -> String {
        let (punch, die) = (
            self.list(&stand.punch_sections),
            self.list(&stand.die_sections),
        );
        format!("punch {punch}; die {die}")
    }

    fn list(&self, sections: &[usize]) -> String {
        let piece = |&index: &usize| {
            let section = &self.problem.shop.sections[index];
            let heavy = if self.problem.stock.is_heavy(index) {
                ", two people or a crane"
            } else {
                ""
            };
            format!(
                "{} ({}, drawer {}{heavy})",
                section.length, section.id, section.drawer
            )
        };
        let pieces: Vec<String> = sections.iter().map(piece).collect();
        pieces.join(" + ")
    }
}

fn written(step: &StepTime, text: Option<String>) -> Step {
    Step {
        kind: step.kind,
        time: step.time,
        text: text.unwrap_or_else(|| plain_step(step.kind).to_owned()),
    }
}

fn plain_step(kind: StepKind) -> &'static str {
    match kind {
        StepKind::Prepare => "fetch the tool cart, open the clamping, close it again at the end",
        StepKind::TakeOff => "take a station off",
        StepKind::Turn => "turn a station's die block",
        StepKind::Slide => "slide a station and align it",
        StepKind::PutOn => "put a station on",
        StepKind::Fingers => "slide the gauge fingers to the stations and check them square",
        StepKind::Guard => "set the guard to the new tool height and test it",
        StepKind::Program => "call up the program",
        StepKind::Programming => "make and check the program",
        StepKind::FirstPiece => "bend the first piece and measure it",
        StepKind::Approval => "have the first piece approved",
    }
}
