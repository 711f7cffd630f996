//! What a session is guided by.

use crate::procedure::Library;

/// The procedures of a session and the words of the assistant in their language.
#[derive(Debug, Clone)]
pub struct Guide {
    pub library: Library,
}

impl Guide {
    pub fn new(library: Library) -> Guide {
        Guide { library }
    }
}
