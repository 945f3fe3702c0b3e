//! Files that other programs drop.

use super::server::Server;
use crate::program::{Scratch, names_in};
use exchange::table::{Cell, Table, as_workbook};
use std::fs;
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};
use units::Moment;

/// How long a file may lie in the inbox.
const PATIENCE: Duration = Duration::from_secs(60);

fn wait_until(what: &str, so: impl Fn() -> bool) {
    let began = Instant::now();
    while !so() {
        assert!(began.elapsed() < PATIENCE, "{what}");
        sleep(Duration::from_millis(50));
    }
}

fn drop_in(inbox: &Path, name: &str, text: &str) {
    // Written beside and moved in, as a careful program does.
    let beside = inbox.with_extension("part");
    fs::write(&beside, text).unwrap();
    fs::rename(&beside, inbox.join(name)).unwrap();
}

#[test]
fn a_file_is_taken_whole_or_refused_whole() {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    let inbox = scratch.path("inbox");
    fs::create_dir(&inbox).unwrap();
    let settings = scratch.path("daemon.toml");
    let text = format!(
        "database = \"sqlite://{}\"\nfolder = \"shop\"\n[listen]\naddress = \"127.0.0.1:0\"\n\
         [planning]\nseconds = 1\n[inbox]\nfolder = \"inbox\"\n[inbox.columns]\norder = \"WO No\"\n\
         part = \"Item\"\nquantity = \"Qty open\"\n[inbox.ignore]\ncolumns = [\"Customer\"]\n",
        scratch.text("shop.db")
    );
    fs::write(&settings, text).unwrap();
    assert!(shop.is_dir());
    let args = [
        "--config",
        settings.to_str().unwrap(),
        "--clock",
        "2027-06-04T15:30:00+02:00",
    ];
    let server = Server::start(&args);
    server.wait_for("/api/v1/orders/T-1");

    let good = "WO No,Customer,Item,Qty open,due\nIN-1,somebody,A-1,12,2027-06-08T12:00\n\
                IN-2,somebody,B-1,3,2027-06-08T12:00\n";
    drop_in(&inbox, "monday.csv", good);
    let taken = inbox.join("taken");
    wait_until("the good file is taken", || {
        taken.join("monday.csv").exists()
    });
    let report = fs::read_to_string(taken.join("monday.csv.report.txt")).unwrap();
    assert!(report.contains("2 orders"), "{report}");
    assert_eq!(server.get("/api/v1/orders/IN-1").json()["quantity"], 12);

    let half = "WO No,Item,Qty open,due\nIN-3,A-1,5,2027-06-08T12:00\n\
                IN-4,NO-SUCH-PART,5,2027-06-08T12:00\n";
    drop_in(&inbox, "tuesday.csv", half);
    let refused = inbox.join("refused");
    wait_until("the bad file is refused", || {
        refused.join("tuesday.csv").exists()
    });
    let report = fs::read_to_string(refused.join("tuesday.csv.report.txt")).unwrap();
    assert!(
        report.contains("tuesday.csv:3:part"),
        "the line of the file: {report}"
    );
    assert_eq!(
        server.get("/api/v1/orders/IN-3").status,
        404,
        "nothing of it was taken"
    );

    workbooks(&server, &inbox);

    // The same file again: taken once, and put away under another name.
    let events = || server.get("/api/v1/events?limit=1").body;
    let before = server.get("/api/v1/orders/IN-1").json()["version"].clone();
    drop_in(&inbox, "monday.csv", good);
    wait_until("the file is put away again", || {
        taken.join("2-monday.csv").exists()
    });
    assert_eq!(
        server.get("/api/v1/orders/IN-1").json()["version"],
        before,
        "{}",
        events()
    );
    assert_eq!(names_in(&inbox), ["refused", "taken"]);
    assert_eq!(server.stop(), Some(0));
}

/// A workbook is read as the same table; what only says it is one is refused.
fn workbooks(server: &Server, inbox: &Path) {
    let cells = |row: [&str; 4]| row.map(Cell::from).to_vec();
    let sheet = Table {
        name: "orders".to_owned(),
        header: ["WO No", "Item", "Qty open", "due"]
            .map(str::to_owned)
            .to_vec(),
        rows: vec![cells(["IN-5", "A-1", "7", "2027-06-08T12:00"])],
    };
    let book = as_workbook(&[sheet], Moment(1_803_358_800)).unwrap();
    let beside = inbox.with_extension("part");
    fs::write(&beside, book).unwrap();
    fs::rename(&beside, inbox.join("wednesday.xlsx")).unwrap();
    wait_until("the workbook is taken", || {
        inbox.join("taken/wednesday.xlsx").exists()
    });
    assert_eq!(server.get("/api/v1/orders/IN-5").json()["quantity"], 7);
    drop_in(inbox, "thursday.xlsx", "PK\u{3}\u{4} and nothing else");
    wait_until("what is no workbook is refused", || {
        inbox.join("refused/thursday.xlsx").exists()
    });
}
