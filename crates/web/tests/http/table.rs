//! Every route of the table keeps its rule, and the description lists exactly these.

use crate::support::{Call, Shop};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use tower::ServiceExt;
use web::{Role, Route, routes};

/// The route's path with something in every place.
fn filled(path: &str) -> String {
    let mut out = String::new();
    let mut rest = path;
    while let Some((before, after)) = rest.split_once('{') {
        let (_, after) = after.split_once('}').unwrap();
        out.push_str(before);
        out.push('9');
        rest = after;
    }
    out + rest
}

fn call(route: &Route) -> Call {
    let call = Call::new(&route.method, &filled(&route.path));
    match route.method.as_str() {
        "GET" => call,
        _ => call.json(&json!({})).if_match(1),
    }
}

/// The status alone: a stream has no end to wait for.
async fn status(shop: &Shop, call: Call) -> u16 {
    let response = shop.router.clone().oneshot(call.request()).await.unwrap();
    response.status().as_u16()
}

#[tokio::test]
async fn nobody_gets_past_a_rule_and_everybody_it_names_does() {
    let shop = Shop::new().await;
    let mut tokens = Vec::new();
    for role in Role::ALL {
        tokens.push((role, shop.token(role).await));
    }
    let all = routes();
    assert!(all.len() > 40, "the table was read");
    let mut guarded = 0;
    for route in &all {
        let name = format!("{} {}", route.method, route.path);
        let plain = status(&shop, call(route)).await;
        let Some(roles) = &route.roles else {
            assert!(
                plain != 401 || route.path.contains("sign-in"),
                "{name}: {plain}"
            );
            continue;
        };
        guarded += 1;
        assert_eq!(plain, 401, "{name} without credentials");
        let unknown = status(&shop, call(route).token("bw_00")).await;
        assert_eq!(unknown, 401, "{name} with a token nobody has");
        for (role, token) in &tokens {
            let told = status(&shop, call(route).token(token)).await;
            if roles.contains(role) {
                assert!(
                    told != 401 && told != 403,
                    "{name} as {}: {told}",
                    role.word()
                );
                assert!(told < 500, "{name} as {}: {told}", role.word());
            } else {
                assert_eq!(told, 403, "{name} as {}", role.word());
            }
        }
    }
    assert!(guarded > 40, "{guarded}");
}

#[tokio::test]
async fn the_description_lists_exactly_the_routes() {
    let shop = Shop::new().await;
    let described = shop.get("/api/v1/openapi.json").await.json();
    assert_eq!(described["openapi"], "3.1.0");
    let mut listed = BTreeSet::new();
    for (path, item) in described["paths"].as_object().unwrap() {
        for method in item.as_object().unwrap().keys() {
            listed.insert((method.to_uppercase(), path.clone()));
        }
    }
    let of_table = routes().into_iter().filter(|route| route.described);
    let of_table: BTreeSet<_> = of_table.map(|route| (route.method, route.path)).collect();
    assert_eq!(listed, of_table);
}

#[tokio::test]
async fn every_reference_in_the_description_leads_somewhere() {
    let shop = Shop::new().await;
    let described = shop.get("/api/v1/openapi.json").await.json();
    let mut found = 0;
    let mut rest = vec![&described];
    while let Some(value) = rest.pop() {
        match value {
            Value::Object(map) => {
                if let Some(Value::String(to)) = map.get("$ref") {
                    let at = to.strip_prefix('#').unwrap();
                    assert!(described.pointer(at).is_some(), "{to}");
                    found += 1;
                }
                rest.extend(map.values());
            }
            Value::Array(list) => rest.extend(list),
            _ => {}
        }
    }
    assert!(found > 100, "{found}");
}

#[tokio::test]
async fn operations_have_names_of_their_own_and_say_what_can_go_wrong() {
    let shop = Shop::new().await;
    let described = shop.get("/api/v1/openapi.json").await.json();
    let mut names = BTreeSet::new();
    for (path, item) in described["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let name = operation["operationId"].as_str().unwrap();
            assert!(names.insert(name.to_owned()), "{name} twice");
            let responses = operation["responses"].as_object().unwrap();
            assert!(responses.contains_key("429"), "{method} {path}");
            let said = operation["summary"].as_str().unwrap_or("");
            assert!(!said.is_empty(), "{method} {path} has no summary");
        }
    }
}
