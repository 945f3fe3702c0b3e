//! A host of one small invented shop for a day.

use daybook::{Command, Happening, Refusal, RefusalKind, Source, State};
use documents::{Base, FileSet, OrderRow};
use model::{Plan, Shop};
use schedule::{Ask, Earlier, plan_day};
use std::sync::Arc;
use testkit::{Features, Recipe, invent, write_folder};
use units::{BrakeId, Moment, OrderId};

pub(crate) struct Day {
    pub(crate) state: State,
    pub(crate) shop: Shop,
    pub(crate) now: Moment,
    pub(crate) plan: Option<Plan>,
}

pub(crate) fn base_of(shop: &Shop) -> Arc<Base> {
    let mut files = FileSet::new();
    for (name, text) in write_folder(shop) {
        files.insert(name, text.into_bytes());
    }
    Arc::new(Base::read(&files).0.expect("sound"))
}

/// Thirty plain orders on three brakes, all beds empty.
pub(crate) fn plain() -> Shop {
    let mut recipe = Recipe::bed(30, 0.0, testkit::Sections::Ample, 5);
    recipe.features = Features::default();
    recipe.tooled = 0.0;
    invent(&recipe)
}

impl Day {
    pub(crate) fn of(shop: Shop) -> Day {
        let now = shop.as_of.expect("said");
        let mut day = Day {
            state: State::new(),
            shop,
            now,
            plan: None,
        };
        day.take(&day.shop.clone(), 1).expect("taken");
        day
    }

    pub(crate) fn take(&mut self, shop: &Shop, revision: u64) -> Result<Vec<Happening>, Refusal> {
        let base = base_of(shop);
        let done = self.ask(&Command::TakeShopData {
            revision,
            base: Arc::clone(&base),
        })?;
        self.state.furnish(revision, base);
        Ok(done)
    }

    pub(crate) fn ask(&mut self, command: &Command) -> Result<Vec<Happening>, Refusal> {
        let done = self.state.decide(command, self.now, self.plan.as_ref())?;
        for happening in &done {
            let number = self.state.number + 1;
            self.state.apply(happening, number, self.now, "lead");
        }
        Ok(done)
    }

    /// Plans, keeps and publishes.
    pub(crate) fn publish(&mut self) {
        let shop = self.state.shop().expect("a shop");
        let ask = Ask {
            from: self.now,
            seed: 1,
            threads: 1,
            seconds: None,
        };
        let mut stop = |done: u64| done >= 20;
        let plan = plan_day(
            &shop,
            ask,
            self.plan.as_ref().map(Earlier::in_force),
            &mut stop,
            &mut (),
        )
        .plan;
        let number = self.state.number + 1_000;
        let made_from = self.state.number;
        let (cause, objective) = ("a test".to_owned(), plan.totals.objective);
        self.ask(&Command::RecordProposal {
            plan: number,
            made_from,
            cause,
            objective,
        })
        .expect("kept");
        self.ask(&Command::Publish {
            plan: number,
            expect_published: None,
        })
        .expect("published");
        self.plan = Some(plan);
    }

    /// A brake with at least two runs in the plan, and the names of its runs.
    pub(crate) fn runs(&self) -> (BrakeId, Vec<String>) {
        let lines = &self.plan.as_ref().expect("published").brakes;
        let line = lines.iter().find(|line| line.runs.len() > 1).expect("runs");
        let names = line.runs.iter().map(|run| run.name.clone()).collect();
        (line.brake.clone(), names)
    }

    pub(crate) fn order_on(&self, brake: &BrakeId) -> OrderId {
        self.state.run_on(brake).expect("a run").order.clone()
    }

    pub(crate) fn row(&self, order: &OrderId, quantity: u32) -> OrderRow {
        let part = self.state.orders.get(order).map(|order| &order.order.part);
        let part = part.unwrap_or(&self.shop.parts[0].id);
        let cells = [
            ("order", order.to_string()),
            ("part", part.to_string()),
            ("quantity", quantity.to_string()),
            ("due", "2027-12-01".to_owned()),
        ];
        OrderRow {
            cells: cells.map(|(column, text)| (column.to_owned(), text)).into(),
            ..OrderRow::default()
        }
    }

    pub(crate) fn put(&mut self, rows: Vec<OrderRow>) -> Result<Vec<Happening>, Refusal> {
        self.ask(&Command::PutOrders {
            source: Source::Request,
            name: "request".to_owned(),
            rows,
            new_only: false,
            expect: None,
        })
    }
}

pub(crate) fn id(text: &str) -> OrderId {
    OrderId::new(text).expect("an id")
}

pub(crate) fn refused(asked: Result<Vec<Happening>, Refusal>, kind: &RefusalKind, words: &str) {
    let refusal = asked.expect_err(words);
    assert_eq!(&refusal.kind, kind, "{refusal}");
    assert!(refusal.text.contains(words), "{refusal}");
}
