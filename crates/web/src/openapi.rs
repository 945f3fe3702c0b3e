//! The description of the API (OpenAPI 3.1), finished: what goes for every route is added from the
//! table, so that it is there for all of them and said once.

use crate::problem::ProblemBody;
use crate::table::{KEY_LONGEST, Matching, Row, Rule};
use serde_json::{Map, Value, json};
use utoipa::openapi::{InfoBuilder, OpenApi, OpenApiBuilder};
use utoipa::{PartialSchema, ToSchema};

/// The statuses of problems, and what each means.
const PROBLEMS: [(u16, &str); 15] = [
    (400, "The request cannot be read."),
    (401, "It is not known who asks."),
    (403, "Whoever asks may not do this."),
    (404, "What is named is not there."),
    (408, "The request did not arrive in time."),
    (
        409,
        "It contradicts what is so now, or something else must come first.",
    ),
    (
        412,
        "The thing has changed since; `current` and the ETag say its version now.",
    ),
    (413, "The request is too large."),
    (415, "The request is not JSON."),
    (421, "The daemon is not called by that host name."),
    (
        422,
        "It can be read and cannot be used; `findings` say why. Or the key was used before.",
    ),
    (428, "The request must say which version it is decided on."),
    (
        429,
        "Too many requests; Retry-After says when the next may come.",
    ),
    (500, "A fault of the daemon."),
    (
        503,
        "It cannot be answered now; Retry-After says when to ask again.",
    ),
];

/// The whole description. `site`: whether paths name the site.
pub(crate) fn describe(described: OpenApi, rows: &[Row], site: bool) -> String {
    let info = InfoBuilder::new()
        .title("brakewright")
        .version(env!("CARGO_PKG_VERSION"))
        .description(Some(
            "Planning for the press brakes of a shop. Bending can maim: plans advise; a trained \
             person sets the machine up by its manual, the tool maker's ratings and local codes. \
             Errors are application/problem+json (RFC 9457). All names and figures in examples are \
             invented.",
        ))
        .build();
    let whole = OpenApiBuilder::new()
        .info(info)
        .build()
        .merge_from(described);
    let mut whole = serde_json::to_value(&whole).unwrap_or_default();
    let mut schemas = Vec::new();
    ProblemBody::schemas(&mut schemas);
    schemas.push((ProblemBody::name().into_owned(), ProblemBody::schema()));
    for (name, schema) in schemas {
        let place = &mut whole["components"]["schemas"][name];
        *place = serde_json::to_value(schema).unwrap_or_default();
    }
    whole["components"]["responses"] = problems();
    whole["components"]["securitySchemes"] = json!({
        "token": {"type": "http", "scheme": "bearer", "description": "A token: bw_..."}
    });
    for row in rows.iter().filter(|row| row.described) {
        let method = row.method.as_str().to_lowercase();
        finish(&mut whole["paths"][&row.path][&method], row);
    }
    if site {
        name_site(&mut whole);
    }
    serde_json::to_string_pretty(&whole).unwrap_or_default()
}

fn problems() -> Value {
    let mut all = Map::new();
    for (status, text) in PROBLEMS {
        let schema = json!({"$ref": "#/components/schemas/Problem"});
        let mut response = json!({
            "description": text,
            "content": {"application/problem+json": {"schema": schema}},
        });
        if status == 429 || status == 503 {
            response["headers"] = json!({"Retry-After": {
                "description": "Seconds", "schema": {"type": "integer", "minimum": 1}
            }});
        }
        all.insert(format!("Problem{status}"), response);
    }
    Value::Object(all)
}

/// An operation's name, from its method and path: `put-orders-by-order`.
fn name(row: &Row) -> String {
    let path = row.path.strip_prefix("/api/v1").unwrap_or(&row.path);
    let mut name = row.method.as_str().to_lowercase();
    for part in path.split('/').filter(|part| !part.is_empty()) {
        let inside = part
            .strip_prefix('{')
            .and_then(|part| part.strip_suffix('}'));
        match inside {
            Some(inside) => name.push_str(&format!("-by-{inside}")),
            None => name.push_str(&format!("-{}", part.replace('.', "-"))),
        }
    }
    name
}

fn finish(operation: &mut Value, row: &Row) {
    let rule = &row.rule;
    operation["operationId"] = json!(name(row));
    let has_body = !operation["requestBody"].is_null();
    // Words of a question may contradict one another.
    let asked = operation["parameters"].as_array();
    let words = asked.map_or(0, |all| {
        all.iter().filter(|one| one["in"] == "query").count()
    });
    let mut statuses = statuses(row, has_body);
    if words > 1 && !statuses.contains(&422) {
        statuses.push(422);
    }
    for status in statuses {
        let name = format!("#/components/responses/Problem{status}");
        operation["responses"][status.to_string()] = json!({"$ref": name});
    }
    if let Some(roles) = rule.roles {
        operation["security"] = json!([{"token": []}]);
        let words: Vec<&str> = roles.iter().map(|role| role.word()).collect();
        let said = operation["description"].as_str().unwrap_or("").to_owned();
        let text = format!("{said}\n\nRoles: {}.", words.join(", "));
        operation["description"] = json!(text.trim_start());
    } else {
        operation["security"] = json!([]);
    }
    let mut parameters = operation["parameters"]
        .as_array()
        .cloned()
        .unwrap_or_default();
    parameters.extend(headers(rule));
    if !parameters.is_empty() {
        operation["parameters"] = Value::Array(parameters);
    }
}

fn statuses(row: &Row, has_body: bool) -> Vec<u16> {
    let rule = &row.rule;
    let writes = row.method != axum::http::Method::GET;
    let mut all = vec![400, 404, 421, 429, 500, 503];
    if rule.roles.is_some() || writes {
        all.extend([401, 403]);
    }
    if writes {
        all.extend([408, 409, 413, 422]);
    }
    if has_body {
        all.push(415);
    }
    if rule.matching != Matching::Never {
        all.push(412);
    }
    if rule.matching == Matching::Must {
        all.push(428);
    }
    all
}

fn headers(rule: &Rule) -> Vec<Value> {
    let mut all = Vec::new();
    if rule.keyed {
        all.push(json!({
            "name": "Idempotency-Key", "in": "header", "required": false,
            "description": "The caller's own key for this request: sent again with it, the request \
                            is done once and answered alike.",
            "schema": {"type": "string", "minLength": 1, "maxLength": KEY_LONGEST,
                       "pattern": "^[!-~]+$"},
        }));
    }
    if rule.matching != Matching::Never {
        let must = rule.matching == Matching::Must;
        let text = if must {
            "The ETag that was read. For a thing that is not there yet, If-None-Match: * instead."
        } else {
            "The ETag that was read: the request is refused when the thing has changed since."
        };
        all.push(json!({
            "name": "If-Match", "in": "header", "required": must, "description": text,
            "schema": {"type": "string", "pattern": "^([0-9]{1,15}|\"[0-9]{1,15}\")$"},
            "example": "\"7\"",
        }));
    }
    all
}

/// Puts the site into every path of the API.
fn name_site(whole: &mut Value) {
    let Some(paths) = whole["paths"].as_object_mut() else {
        return;
    };
    let schema = json!({"type": "string", "minLength": 1, "maxLength": 64});
    let site = json!({"name": "site", "in": "path", "required": true, "schema": schema});
    let all = std::mem::take(paths);
    for (path, mut item) in all {
        match path.strip_prefix("/api/v1/") {
            Some(rest) if rest != "openapi.json" => {
                item["parameters"] = json!([site]);
                paths.insert(format!("/api/v1/sites/{{site}}/{rest}"), item);
            }
            _ => {
                paths.insert(path, item);
            }
        }
    }
}
