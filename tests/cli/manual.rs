//! `readback completions`, `readback manual`, and the help of every command.

use crate::support::readback;

const COMMANDS: [&str; 9] = [
    "run", "replay", "check", "diagnose", "report", "amend", "pack", "sessions", "verify",
];

#[test]
fn every_command_is_completed_and_has_a_page() {
    let script = readback(["completions", "bash"])
        .exits(0)
        .stderr("")
        .read_stdout();
    let manual = readback(["manual"]).exits(0).stderr("").read_stdout();
    assert!(manual.contains(".TH readback 1"), "{manual}");
    for command in COMMANDS {
        assert!(
            script.contains(&format!("readback,{command})")),
            "{command}"
        );
        assert!(
            manual.contains(&format!("readback\\-{command}")),
            "{command}"
        );
        let page = readback(["manual", command]).exits(0).read_stdout();
        assert!(page.contains(".SH OPTIONS"), "{page}");
    }
    for shell in ["zsh", "fish"] {
        readback(["completions", shell]).exits(0).stderr("");
    }
    readback(["manual", "nothing"])
        .exits(2)
        .stderr("error: found no command `nothing`; `readback --help` names them all\n");
}
