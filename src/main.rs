//! Parse arguments, call one function, print one error, exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    match readback::cli::run() {
        Ok(answer) => answer.exit_code(),
        Err(failure) => {
            eprintln!("error: {}", readback::cli::visible(&failure.to_string()));
            failure.exit_code()
        }
    }
}
