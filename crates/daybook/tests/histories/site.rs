//! A site as its host keeps it: the log as JSON, the state, the plans.

use crate::invariants;
use audit::{judge, judge_after};
use daybook::{Command, Happening, Refusal, State};
use documents::{Base, FileSet, read_shop};
use model::{Plan, Shop};
use schedule::{Ask, Earlier, compile, plan_day};
use std::collections::BTreeMap;
use std::sync::Arc;
use testkit::write_folder;
use units::{Moment, OrderId, Severity};

/// A host of one site.
pub(crate) struct Site {
    pub(crate) state: State,
    pub(crate) now: Moment,
    pub(crate) log: Vec<(String, Moment, String)>,
    pub(crate) plans: BTreeMap<u64, Plan>,
    pub(crate) counts: BTreeMap<&'static str, u32>,
    /// Files by revision.
    pub(crate) bases: BTreeMap<u64, Arc<Base>>,
    pub(crate) folder: Shop,
    pub(crate) fresh: u32,
}

pub(crate) fn files(shop: &Shop) -> FileSet {
    let mut files = FileSet::new();
    for (name, text) in write_folder(shop) {
        files.insert(name, text.into_bytes());
    }
    files
}

pub(crate) fn base_of(shop: &Shop) -> Arc<Base> {
    let (base, findings) = Base::read(&files(shop));
    Arc::new(base.unwrap_or_else(|| panic!("{findings:#?}")))
}

impl Site {
    pub(crate) fn of(shop: &Shop) -> Site {
        let mut site = Site {
            state: State::new(),
            now: shop.as_of.expect("said"),
            log: Vec::new(),
            plans: BTreeMap::new(),
            counts: BTreeMap::new(),
            bases: BTreeMap::new(),
            folder: shop.clone(),
            fresh: 0,
        };
        let command = Command::TakeShopData {
            revision: 1,
            base: base_of(shop),
        };
        site.submit(&command, "the first files").expect("taken");
        let orders = site.state.shop().expect("a shop").orders.len();
        assert!(orders <= shop.orders.len());
        site
    }

    pub(crate) fn published(&self) -> Option<&Plan> {
        self.plans.get(&self.state.published.as_ref()?.plan)
    }

    pub(crate) fn submit(&mut self, command: &Command, what: &str) -> Result<(), Refusal> {
        let decided = self.state.decide(command, self.now, self.published());
        let happenings = decided.inspect_err(|refusal| assert!(refusal.text.len() > 8))?;
        if let Command::TakeShopData { revision, base } = command {
            self.bases.insert(*revision, Arc::clone(base));
        }
        self.take_in(happenings, what);
        Ok(())
    }

    pub(crate) fn take_in(&mut self, happenings: Vec<Happening>, what: &str) {
        for happening in happenings {
            let before = self.state.clone();
            let number = self.state.number + 1;
            let who = "lead".to_owned();
            *self.counts.entry(happening.kind()).or_insert(0) += 1;
            let text = happening.to_json().expect("written");
            let kind = format!("\"kind\":\"{}\"", happening.kind());
            assert!(text.contains(&kind), "{text}");
            self.state.apply(&happening, number, self.now, &who);
            self.furnish();
            invariants::hold(&before, &self.state, &happening, what);
            self.log.push((text, self.now, who));
        }
    }

    fn furnish(&mut self) {
        if let Some(wanted) = self.state.wants_base() {
            let base = self.bases.get(&wanted).expect("kept");
            self.state.furnish(wanted, Arc::clone(base));
        }
    }

    /// The state that the log gives, read from its JSON.
    pub(crate) fn replayed(&self) -> State {
        self.replayed_from(State::new(), self.log.len())
    }

    /// A state moved on by the log to the event `until`.
    fn replayed_from(&self, mut state: State, until: usize) -> State {
        let known = usize::try_from(state.number).expect("small");
        for (number, (text, at, who)) in (1..).zip(&self.log).take(until).skip(known) {
            let happening = Happening::from_json(text).expect("read back");
            state.apply(&happening, number, *at, who);
        }
        state
    }

    /// The log begun anew from a checkpoint after event `cut`: the same state and the same text.
    pub(crate) fn check_restart(&self, cut: usize, what: &str) {
        let before = self.replayed_from(State::new(), cut);
        let text = before.to_checkpoint().expect("written");
        let restarted = State::from_checkpoint(&text).expect("read back");
        assert_eq!(restarted, before, "{what}: read back at {cut}");
        assert_eq!(restarted.to_checkpoint().expect("written"), text, "{what}");
        let end = self.replayed_from(restarted, self.log.len());
        assert_eq!(end, self.state, "{what}: restarted from {cut}");
        let (end, whole) = (end.to_checkpoint(), self.state.to_checkpoint());
        assert_eq!(end, whole, "{what}: restarted from {cut}");
    }

    /// The shop to plan, written as a folder, is read without an error and means the same.
    pub(crate) fn check_shop(&self, what: &str) -> Shop {
        let shop = self
            .state
            .shop()
            .unwrap_or_else(|| panic!("{what}: no shop"));
        let (read, findings) = read_shop(&files(&shop));
        let errors: Vec<String> = findings
            .iter()
            .filter(|finding| finding.severity == Severity::Error)
            .map(ToString::to_string)
            .collect();
        assert_eq!(errors, Vec::<String>::new(), "{what}");
        let read = read.expect("no error, hence a shop");
        assert_eq!(read.orders, shop.orders, "{what}");
        assert_eq!(read.floor, shop.floor, "{what}");
        assert_eq!(read.brakes, shop.brakes, "{what}");
        assert_eq!(read.setups, shop.setups, "{what}");
        assert_eq!(read.sections, shop.sections, "{what}");
        shop
    }

    /// A plan of the shop as it is now, and that shop: runs whose bed does not hold their tools are
    /// set aside.
    pub(crate) fn make_plan(&self, what: &str, steps: u64) -> (Shop, Plan) {
        let mut shop = self.check_shop(what);
        let (_, findings) = compile(&shop, self.now);
        let lost = findings.iter().filter(|finding| finding.code == "D390");
        let aside: Vec<OrderId> = lost
            .filter_map(|finding| OrderId::new(finding.place.field.as_deref()?).ok())
            .collect();
        if !aside.is_empty() {
            shop = self.state.shop_without(&aside).expect("a shop");
        }
        let ask = Ask {
            from: self.now,
            seed: 1,
            threads: 1,
            seconds: None,
        };
        let mut stop = move |done: u64| done >= steps;
        let before = self.published();
        let plan = plan_day(
            &shop,
            ask,
            before.map(Earlier::in_force),
            &mut stop,
            &mut (),
        )
        .plan;
        (shop, plan)
    }

    /// A plan of the shop as it is now stands before the judge.
    pub(crate) fn plan_and_judge(&self, what: &str) -> bool {
        let (shop, plan) = self.make_plan(what, 60);
        let verdict = match self.published() {
            Some(before) => judge_after(&shop, &plan, before),
            None => judge(&shop, &plan),
        };
        assert!(
            verdict.violations.is_empty(),
            "{what}: {:#?}",
            verdict.violations
        );
        true
    }
}
