//! `people`: who may use the daemon.

use super::now;
use crate::args::{PeopleArgs, PeopleCommand};
use crate::printer::Printer;
use crate::printer::table::{Side, table};
use crate::trouble::{Ended, Trouble};
use std::io::{self, BufRead, IsTerminal};
use std::sync::Arc;
use store::Store;
use web::Role;
use workshop::{Account, CONSOLE, Clock, Office, PeopleWish, RESERVED_NAMES};

/// Shortest password. Common practice, no source; whoever wants none gives none.
const PASSWORD_SHORTEST: usize = 12;

/// The longest line that is taken for a password.
const PASSWORD_LONGEST: usize = 1_024;

/// Carries out one call of `people`.
pub(super) fn run(args: PeopleArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let runtime = tokio::runtime::Runtime::new().map_err(Trouble::System)?;
    runtime.block_on(async {
        let store = Store::open(&args.db.url).await?;
        let known = store.sites().await?;
        if !matches!(args.what, PeopleCommand::Put { .. }) && !known.contains(&args.site) {
            return Err(Trouble::Usage(format!(
                "no site {:?} in this database; there are: {}",
                args.site,
                known.join(", ")
            )));
        }
        let clock: Clock = Arc::new(now);
        let office = Office::open(store.site(&args.site, now()).await?, clock).await?;
        let ended = carry_out(&office, args.what, printer).await;
        store.close().await;
        ended
    })
}

async fn carry_out(
    office: &Office,
    what: PeopleCommand,
    printer: &mut Printer,
) -> Result<Ended, Trouble> {
    match what {
        PeopleCommand::List => list(office, printer).await?,
        PeopleCommand::Put { name, role } => put(office, &name, &role, printer).await?,
        PeopleCommand::Disable { name } => {
            let account = known(office, &name).await?;
            let shut = Account {
                disabled: true,
                ..account
            };
            put_account(office, &shut, false).await?;
            printer.message(&format!("{name} is shut out."));
        }
        PeopleCommand::Token { name, label } => {
            known(office, &name).await?;
            let token = web::new_token().map_err(|error| Trouble::Usage(error.to_string()))?;
            let hash = web::secret_hash(&token);
            let wish = PeopleWish::MakeToken {
                hash: &hash,
                account: &name,
                label: &label,
                expires: None,
            };
            office.change_people(CONSOLE, wish, None).await?;
            printer
                .message("This token is shown once; keep it where only its program can read it.");
            printer.data(&format!("{token}\n"))?;
        }
    }
    Ok(Ended::Done)
}

async fn list(office: &Office, printer: &mut Printer) -> Result<(), Trouble> {
    let accounts = office.accounts().await?;
    if accounts.is_empty() {
        let text = "Nobody has an account: everybody on this machine is a manager.\n";
        return printer.data(text);
    }
    let rows: Vec<Vec<String>> = accounts
        .into_iter()
        .map(|account| {
            let signs_in = match (account.disabled, account.password) {
                (true, _) => "shut out",
                (false, Some(_)) => "by password or token",
                (false, None) => "by token",
            };
            vec![account.name, account.role, signs_in.to_owned()]
        })
        .collect();
    let columns = [
        ("name", Side::Left),
        ("role", Side::Left),
        ("signs in", Side::Left),
    ];
    printer.data(&table(&columns, &rows, printer.width()))
}

async fn put(
    office: &Office,
    name: &str,
    role: &str,
    printer: &mut Printer,
) -> Result<(), Trouble> {
    let Some(role) = Role::of(role) else {
        let all: Vec<&str> = Role::ALL.iter().map(|role| role.word()).collect();
        let text = format!("no role {role:?}; there are {}", all.join(", "));
        return Err(Trouble::Usage(text));
    };
    if name.is_empty() || name.len() > 64 || name.chars().any(char::is_control) {
        return Err(Trouble::Usage(
            "a name has 1 to 64 characters on one line".to_owned(),
        ));
    }
    if RESERVED_NAMES.contains(&name) {
        let text = format!("{name} stands for a part of the program; take another name");
        return Err(Trouble::Usage(text));
    }
    let password = password(printer)?;
    let new_password = password.is_some();
    let hashed = match password {
        None => office
            .account(name)
            .await?
            .and_then(|account| account.password),
        Some(password) => {
            let hashed = web::hash_password(&password);
            Some(hashed.map_err(|error| Trouble::Usage(error.to_string()))?)
        }
    };
    let account = Account {
        name: name.to_owned(),
        role: role.word().to_owned(),
        password: hashed,
        disabled: false,
    };
    put_account(office, &account, new_password).await?;
    printer.message(&format!("{name} is {} now.", role.word()));
    Ok(())
}

async fn put_account(
    office: &Office,
    account: &Account,
    new_password: bool,
) -> Result<(), Trouble> {
    let wish = PeopleWish::Put {
        account,
        new_password,
    };
    office.change_people(CONSOLE, wish, None).await?;
    Ok(())
}

async fn known(office: &Office, name: &str) -> Result<Account, Trouble> {
    let account = office.account(name).await?;
    account.ok_or_else(|| Trouble::Usage(format!("no account {name:?}; `people put` adds one")))
}

/// The password on standard input; none when its first line is empty.
fn password(printer: &mut Printer) -> Result<Option<String>, Trouble> {
    let input = io::stdin();
    if input.is_terminal() {
        printer.message("Password (it will be seen; an empty line leaves it as it is):");
    }
    let mut line = String::new();
    let read = io::Read::take(input.lock(), PASSWORD_LONGEST as u64).read_line(&mut line);
    read.map_err(Trouble::System)?;
    let password = line.trim_end_matches(['\n', '\r']);
    if password.is_empty() {
        return Ok(None);
    }
    if password.chars().count() < PASSWORD_SHORTEST {
        let text = format!("a password has at least {PASSWORD_SHORTEST} characters");
        return Err(Trouble::Usage(text));
    }
    Ok(Some(password.to_owned()))
}
