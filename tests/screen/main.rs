//! The page of a running session: who may ask, what is told, what is taken; and a browser that
//! works through a whole session with it.

mod served;
mod session;
mod view;
