//! What the judge says of a plan.

/// One rule a plan breaks, with the numbers that prove it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Violation {
    /// Rule code such as `A104`; see docs/reference/codes.md.
    pub code: &'static str,
    /// The rule's name, such as `section-on-two-brakes`.
    pub rule: &'static str,
    /// Where: run, order, brake or section.
    pub at: String,
    /// What is wrong, with needed and found numbers.
    pub text: String,
}

/// All broken rules; none means the plan is good.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Verdict {
    /// In plan order.
    pub violations: Vec<Violation>,
}

impl Verdict {
    /// Whether no rule is broken.
    #[must_use]
    pub fn accepted(&self) -> bool {
        self.violations.is_empty()
    }
}
