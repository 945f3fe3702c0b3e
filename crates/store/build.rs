//! Compiles the crate again when a migration is added: they are built into it.

fn main() {
    #[allow(clippy::print_stdout)] // how a build script speaks to cargo
    {
        println!("cargo:rerun-if-changed=../../migrations");
    }
}
