//! The caution that all pages carry, and the page to sign in.

use crate::pages::frame::at_site;
use crate::pages::query_word;
use maud::{DOCTYPE, Markup, html};

/// Shown on every page, before anything else a reader could act on.
pub(crate) const CAUTION: &str = "Bending can maim. This plan advises; a trained person sets the machine up and answers for \
     the first stroke. The machine's manual, the tool maker's load ratings and local codes go \
     first.";

/// The page that asks for account and password. `next` is the page to go to afterwards.
pub(crate) fn sign_in(said: Option<&str>, next: Option<&str>, head: &str) -> Markup {
    let action = match next {
        Some(next) => format!("/sign-in?next={}", query_word(next)),
        None => "/sign-in".to_owned(),
    };
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Sign in \u{2013} brake plan" }
                link rel="icon" href="/favicon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/board.css";
            }
            body.sign-in {
                main #main {
                    h1 { "Sign in" }
                    @if let Some(said) = said { p.note role="alert" { (said) } }
                    form method="post" action=(action) {
                        p {
                            label for="account" { "Account" }
                            input #account name="account" autocomplete="username" autocapitalize="none" required;
                        }
                        p {
                            label for="password" { "Password" }
                            input #password name="password" type="password"
                                autocomplete="current-password" required;
                        }
                        p { button.main type="submit" { "Sign in" } }
                    }
                    p.small { "No account? Whoever looks after the daemon makes one with " code { "brakewright people" } "." }
                }
            }
        }
    };
    at_site(page, head)
}
