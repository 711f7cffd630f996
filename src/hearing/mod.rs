//! Audio in, hypotheses out. An edge room: engines run off the async threads and know nothing of
//! sessions; what they return is parsed again by the automaton that gave them their grammar.

pub mod recognizer;
