//! The rules of the house: who may import whom, what pure rooms leave alone, how long a file may
//! grow, and what never belongs in the repository.

mod files;
mod rooms;
mod text;
