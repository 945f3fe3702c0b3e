//! Happenings as JSON.

use super::*;
use units::{Length, ProfileId};

#[test]
fn unknown_kinds_and_fields_are_named() {
    let kind = Happening::from_json(r#"{"kind":"coffee-break"}"#);
    assert!(kind.is_err_and(|error| error.0.contains("`coffee-break`")));
    let field = r#"{"kind":"brake-up","brake":"B1","colour":"red"}"#;
    let field = Happening::from_json(field);
    assert!(field.is_err_and(|error| error.0.contains("`colour`")));
    let inner = r#"{"kind":"floor-described","stations":[],"running":[{"brake":"B1","order":"W1","pieces_done":1,"x":2}],"down":[]}"#;
    let inner = Happening::from_json(inner);
    assert!(inner.is_err_and(|error| error.0.contains("`x`")));
    let id = Happening::from_json(r#"{"kind":"brake-up","brake":"B 1"}"#);
    assert!(id.is_err_and(|error| error.0.contains("B 1")));
}

#[test]
fn every_kind_is_documented() {
    let page = include_str!("../../../../docs/reference/events.md");
    let unknown = Happening::from_json(r#"{"kind":"?"}"#).expect_err("no kind");
    // The message lists all kinds there are.
    let kinds: Vec<&str> = unknown.0.split('`').skip(3).step_by(2).collect();
    assert_eq!(kinds.len(), 29, "{kinds:?}");
    for kind in kinds {
        assert!(page.contains(&format!("\n| `{kind}` |")), "{kind}");
    }
}

#[test]
fn times_and_lengths_are_written_plainly() {
    let brake = BrakeId::new("B1").expect("an id");
    let down = Happening::BrakeDown {
        brake: brake.clone(),
        from: Moment(1_803_358_800),
        until: Moment(1_803_366_000),
        why: "light curtain".to_owned(),
    };
    let text = down.to_json().expect("written");
    let expected = r#"{"kind":"brake-down","brake":"B1","from":"2027-02-23T05:00:00Z","until":"2027-02-23T07:00:00Z","why":"light curtain"}"#;
    assert_eq!(text, expected);
    assert_eq!(Happening::from_json(&text), Ok(down));
    let station = StationEntry {
        brake,
        punch: ProfileId::new("P1").expect("an id"),
        die: ProfileId::new("V16").expect("an id"),
        left: Length::from_nanometres(396_875),
        reversed: false,
        punch_sections: vec![SectionId::new("P1-500").expect("an id")],
        die_sections: Vec::new(),
    };
    let text = serde_json::to_string(&station).expect("written");
    assert!(text.contains(r#""left":"0.396875""#), "{text}");
    let back: StationEntry = serde_json::from_str(&text).expect("read");
    assert_eq!(back, station);
}

#[test]
fn changes_of_accounts_and_tokens_are_read_back() {
    for text in [
        r#"{"kind":"account-put","account":"M-1","role":"manager","new_password":true}"#,
        r#"{"kind":"account-put","account":"V-1","role":"viewer","new_password":false,"disabled":true}"#,
        r#"{"kind":"account-disabled","account":"V-1"}"#,
        r#"{"kind":"token-made","account":"E-1","token":3,"label":"orders"}"#,
        r#"{"kind":"token-made","account":"E-1","token":4,"label":"orders","expires":"2027-02-23T05:00:00Z"}"#,
        r#"{"kind":"token-ended","account":"E-1","token":3}"#,
    ] {
        let happening = Happening::from_json(text).expect("read");
        assert_eq!(happening.to_json().expect("written"), text);
        assert!(PEOPLE_KINDS.contains(&happening.kind()), "{text}");
    }
}

#[test]
fn what_is_calibrated_is_read_back() {
    for text in [r#"{"step":"put-on"}"#, r#"{"part":"BRACKET-7"}"#] {
        let what: Calibrated = serde_json::from_str(text).expect("read");
        assert_eq!(serde_json::to_string(&what).expect("written"), text);
    }
}
