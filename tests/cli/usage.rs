//! Usage errors and the version.

use crate::support::{Folder, readback};

#[test]
fn version_names_the_program() {
    let version = format!("readback {}\n", env!("CARGO_PKG_VERSION"));
    readback(["--version"]).exits(0).stdout(&version).stderr("");
}

#[test]
fn unknown_flag_is_a_usage_error() {
    Folder::new().run(["--loud"]).exits(2).stdout("").stderr(
        "error: unexpected argument '--loud' found\n\nUsage: readback [OPTIONS] <COMMAND>\n\n\
             For more information, try '--help'.\n",
    );
}
