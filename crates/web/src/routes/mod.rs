//! The routes, by what they are about.

pub(crate) mod brakes;
pub(crate) mod calendar;
pub(crate) mod calibration;
pub(crate) mod events;
pub(crate) mod health;
pub(crate) mod orders;
pub(crate) mod pages;
pub(crate) mod paper;
pub(crate) mod people;
pub(crate) mod pins;
pub(crate) mod plans;
pub(crate) mod policy;
pub(crate) mod quote_page;
pub(crate) mod quotes;
pub(crate) mod rush;
pub(crate) mod sections;
pub(crate) mod session;
pub(crate) mod shop_data;
pub(crate) mod stream;
pub(crate) mod work;

use crate::app::App;
use crate::roles::{ASKERS, DECIDERS, ESTIMATORS, FLOOR, READERS};
use crate::site::SITES;
use crate::table::{Rule, Table};
use axum::http::Method;
use axum::routing::{get, post};
use utoipa_axum::routes;

/// Every route with its rule.
pub(crate) fn table(app: Option<App>) -> Table {
    people_and_pages(floor(orders_and_plans(Table::new(app))))
}

const READ: Rule = Rule::of(READERS);
const REPORT: Rule = Rule::writing(FLOOR).may_match();
const DECIDE: Rule = Rule::writing(DECIDERS);

fn orders_and_plans(table: Table) -> Table {
    table
        .add(READ, routes!(orders::list))
        .add(READ, routes!(orders::one))
        .add(Rule::writing(FLOOR).must_match(), routes!(orders::put))
        .add(Rule::writing(FLOOR), routes!(orders::put_many))
        .add(Rule::writing(FLOOR).must_match(), routes!(orders::withdraw))
        .add(Rule::writing(FLOOR), routes!(orders::withdraw_many))
        .add(DECIDE.must_match(), routes!(pins::put))
        .add(DECIDE.must_match(), routes!(pins::delete))
        .add(Rule::of(ASKERS).long(), routes!(pins::effect))
        .add(Rule::of(ASKERS).long(), routes!(rush::rush))
        .add(Rule::of(ESTIMATORS).long(), routes!(quotes::quote))
        .add(READ, routes!(plans::list))
        .add(READ, routes!(plans::one))
        .add(READ, routes!(plans::published))
        .add(READ, routes!(plans::proposal))
        .add(Rule::of(FLOOR).keyed(), routes!(plans::ask))
        .add(DECIDE.must_match(), routes!(plans::publish))
        .add(READ, routes!(plans::differences))
        .add(READ, routes!(plans::standing))
        .add(Rule::of(FLOOR), routes!(paper::paper))
        .add(READ, routes!(calendar::calendar))
        .add(READ, routes!(shop_data::get))
        .add(READ, routes!(shop_data::file))
        .add(Rule::of(DECIDERS).with_files(), routes!(shop_data::check))
        .add(DECIDE.must_match().with_files(), routes!(shop_data::put))
        .add(READ, routes!(policy::get))
        .add(DECIDE.must_match(), routes!(policy::put))
        .add(READ, routes!(calibration::list))
        .add(DECIDE, routes!(calibration::look))
        .add(DECIDE, routes!(calibration::accept))
        .add(DECIDE, routes!(calibration::refuse))
}

fn floor(table: Table) -> Table {
    table
        .add(READ, routes!(brakes::list))
        .add(READ, routes!(brakes::one))
        .add(READ, routes!(brakes::changeover))
        .add(REPORT.must_match(), routes!(brakes::bed))
        .add(REPORT, routes!(brakes::down))
        .add(REPORT, routes!(brakes::up))
        .add(REPORT, routes!(work::start_changeover))
        .add(REPORT, routes!(work::finish_changeover))
        .add(REPORT, routes!(work::finish_takedown))
        .add(REPORT, routes!(work::start_run))
        .add(REPORT, routes!(work::pause_run))
        .add(REPORT, routes!(work::resume_run))
        .add(REPORT, routes!(work::count_pieces))
        .add(REPORT, routes!(work::scrap))
        .add(REPORT, routes!(work::finish_run))
        .add(READ, routes!(sections::list))
        .add(Rule::writing(FLOOR), routes!(sections::out))
        .add(Rule::writing(FLOOR), routes!(sections::back))
        .add(READ, routes!(events::list))
        .add(READ, routes!(stream::stream))
}

fn people_and_pages(table: Table) -> Table {
    table
        .add(Rule::of(DECIDERS), routes!(people::list))
        .add(
            Rule::of(DECIDERS).keyed().with_secret(),
            routes!(people::put),
        )
        .add(Rule::of(DECIDERS), routes!(people::tokens))
        .add(Rule::of(DECIDERS).keyed(), routes!(people::add_token))
        .add(Rule::of(DECIDERS).keyed(), routes!(people::revoke))
        .add(READ, routes!(session::me))
        .add(Rule::open(), routes!(session::sign_in))
        .add(READ, routes!(session::sign_out))
        .add(READ, routes!(health::metrics))
        .add(Rule::open(), routes!(health::healthz))
        .add(Rule::open(), routes!(health::readyz))
        .add(Rule::open(), routes!(health::description))
        .page(Rule::open(), Method::GET, "/", get(pages::desk))
        .page(Rule::open(), Method::GET, "/wall", get(pages::wall))
        .page(
            Rule::open().long(),
            Method::GET,
            "/quote",
            get(quote_page::quote),
        )
        .page(Rule::open(), Method::GET, SITES, get(pages::sites))
        .page(Rule::open(), Method::POST, "/lengths", post(pages::lengths))
        .page(
            Rule::open(),
            Method::GET,
            "/brakes/{brake}",
            get(pages::bench),
        )
        .page(Rule::open(), Method::GET, "/board.js", get(pages::script))
        .page(Rule::open(), Method::GET, "/keep.js", get(pages::keeper))
        .page(
            Rule::open(),
            Method::GET,
            "/board.css",
            get(pages::stylesheet),
        )
        .page(Rule::open(), Method::GET, "/favicon.svg", get(pages::mark))
        .page(Rule::open(), Method::GET, "/sign-in", get(pages::sign_in))
        .page(
            Rule::open(),
            Method::POST,
            "/sign-in",
            post(pages::signed_in),
        )
}
