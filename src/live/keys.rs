//! The key of push-to-talk: whatever is typed on stdin, by a keyboard or by a foot switch that
//! stands for a key.

use std::io::{self, Read};
use std::thread;

use rustix::termios::{LocalModes, OptionalActions, Termios, tcgetattr, tcsetattr};
use tokio::sync::mpsc::Sender;

use super::Input;

/// Keys come one by one and are not shown as long as this lives.
pub struct Keys {
    /// As the terminal was; `None` where stdin is none.
    before: Option<Termios>,
}

impl Keys {
    /// Tells every key to `inputs` from here on.
    ///
    /// # Errors
    ///
    /// The terminal cannot be set, or no thread can be had.
    pub fn listen(inputs: Sender<Input>) -> io::Result<Keys> {
        let before = tcgetattr(io::stdin()).ok();
        if let Some(before) = &before {
            let mut one_by_one = before.clone();
            one_by_one
                .local_modes
                .remove(LocalModes::ICANON | LocalModes::ECHO);
            tcsetattr(io::stdin(), OptionalActions::Now, &one_by_one)?;
        }
        let keys = Keys { before };
        let thread = thread::Builder::new().name("keys".to_owned());
        thread.spawn(move || read(&inputs))?;
        Ok(keys)
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        if let Some(before) = &self.before {
            // A terminal that is gone needs no setting.
            let _ = tcsetattr(io::stdin(), OptionalActions::Now, before);
        }
    }
}

/// The thread's whole life: it ends with stdin or the session.
fn read(inputs: &Sender<Input>) {
    let mut some = [0; 64];
    loop {
        let input = match io::stdin().lock().read(&mut some) {
            Ok(1..) => Input::Key,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Ok(_) | Err(_) => Input::NoMoreKeys,
        };
        let ends = matches!(input, Input::NoMoreKeys);
        if inputs.blocking_send(input).is_err() || ends {
            return;
        }
    }
}
