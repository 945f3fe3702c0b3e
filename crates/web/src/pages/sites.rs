//! Which site's pages to see, when the daemon has several.

use maud::{DOCTYPE, Markup, html};

/// The page. `seen` are the sites whoever asks may see, name and address; sites they may not see are
/// not named, so a site is also reached by naming it.
pub(crate) fn sites(seen: &[(String, String)], missing: bool) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Sites \u{2013} brake plan" }
                link rel="icon" href="/favicon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/board.css";
            }
            body.sign-in {
                main #main {
                    h1 { "Which site?" }
                    @if missing { p.note role="alert" { "There is no such site here. Sites are written as whoever looks after the daemon named them." } }
                    @if !seen.is_empty() {
                        ul.coming { @for (name, to) in seen { li { a href=(to) { (name) } } } }
                    }
                    form method="get" action="/sites" {
                        p {
                            label for="site" { @if seen.is_empty() { "Site" } @else { "Another site" } }
                            input #site name="site" autocapitalize="none" maxlength="100" required;
                        }
                        p { button.main type="submit" { "Go there" } }
                    }
                    p.small { "Each site has its own accounts, and asks you to sign in." }
                }
            }
        }
    }
}
