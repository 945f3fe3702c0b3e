//! A plan as calendars over HTTP.

use crate::support::{Call, Shop};

#[tokio::test]
async fn a_brakes_calendar_has_its_runs() {
    let shop = Shop::new().await;
    shop.publish().await;
    let plan = shop.office.published().await.unwrap().unwrap();
    let line = plan
        .plan
        .brakes
        .iter()
        .max_by_key(|line| line.runs.len())
        .unwrap();
    let path = format!("/api/v1/plans/published/calendar?brake={}", line.brake);
    let answer = shop.send(Call::new("GET", &path)).await;
    answer.is(200, "");
    assert!(answer.header("content-type").starts_with("text/calendar"));
    assert!(answer.body.starts_with("BEGIN:VCALENDAR\r\n"));
    let events = answer.body.matches("BEGIN:VEVENT").count();
    assert!(events >= line.runs.len(), "{events}");
    for run in &line.runs {
        assert!(answer.body.contains(run.order.as_str()), "{}", run.order);
    }
    let person = &line.runs[0].segments[0].crew[0];
    let path = format!("/api/v1/plans/published/calendar?person={person}");
    let answer = shop.send(Call::new("GET", &path)).await;
    answer.is(200, "");
    assert!(answer.body.contains("BEGIN:VEVENT"));
}

#[tokio::test]
async fn what_is_not_there_has_no_calendar() {
    let shop = Shop::new().await;
    let published = "/api/v1/plans/published/calendar";
    let of = |whose: &str| Call::new("GET", &format!("{published}?{whose}"));
    shop.send(of("brake=B1")).await.is(404, "");
    shop.publish().await;
    shop.send(of("brake=none")).await.is(404, "");
    shop.send(of("person=nobody")).await.is(404, "");
    shop.send(of("brake=B1&person=op-1")).await.is(422, "");
    shop.send(Call::new("GET", published)).await.is(422, "");
}
