//! Finds the cheapest ways through an automaton for a row of words.

use smallvec::SmallVec;

use super::automaton::Automaton;
use super::lexicon::SEPARATOR;
use super::op::Op;
use super::text::Token;

/// Costs are hundredths of a nat. Common practice, no source: the figures only have to rank.
///
/// A pause inside a value costs more than ending the value there.
const PAUSE_INSIDE_VALUE: u32 = 400;
/// A value that ends at a pause is the usual way; it still yields to a value that may go on.
const VALUE_ENDS_AT_PAUSE: u32 = 100;
/// Values run together without a pause are the last explanation, and only behind what ends a value:
/// "five volts six volts", never "forty five five".
const VALUES_RUN_TOGETHER: u32 = 600;

/// Ways kept for one state, and in all, before the next word.
pub(super) const KEPT_PER_STATE: usize = 6;
const KEPT: usize = 64;

/// Where one value may follow another without a pause.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Together {
    Never,
    /// Behind a unit, or behind what a meter says instead of a number.
    BehindUnits,
    /// Anywhere: only to say why words mean nothing.
    Anywhere,
}

/// One word of one way: where it leads, and the way before it.
#[derive(Debug, Clone, Copy)]
struct Node {
    state: u32,
    cost: u32,
    before: u32,
    arc: u32,
}

const NOTHING_BEFORE: u32 = u32::MAX;

/// The arcs of one way.
pub(super) type Arcs = SmallVec<[u32; 24]>;

/// All ways that were worth following, and how far they came.
#[derive(Debug)]
pub(super) struct Search {
    nodes: SmallVec<[Node; 32]>,
    /// The ways that took every word so far.
    frontier: std::ops::Range<usize>,
    /// Words taken; fewer than given where no way goes on.
    pub taken: usize,
}

impl Search {
    /// Nothing followed yet; to be kept in place, because it is large.
    pub(super) fn new() -> Search {
        Search {
            nodes: SmallVec::new(),
            frontier: 0..0,
            taken: 0,
        }
    }

    /// Follows the words.
    pub(super) fn run(&mut self, automaton: &Automaton, tokens: &[Token], together: Together) {
        self.nodes.clear();
        self.nodes.push(Node {
            state: 0,
            cost: 0,
            before: NOTHING_BEFORE,
            arc: 0,
        });
        self.frontier = 0..1;
        self.taken = 0;
        for token in tokens {
            self.separate(automaton, token, together);
            let next = self.nodes.len();
            self.step(automaton, token);
            if self.nodes.len() == next {
                break;
            }
            self.frontier = next..self.nodes.len();
            self.prune();
            self.taken += 1;
        }
    }

    /// Ends a value in front of a word, where that is allowed.
    fn separate(&mut self, automaton: &Automaton, token: &Token, together: Together) {
        if !token.pause && together == Together::Never {
            return;
        }
        for at in self.frontier.clone() {
            let node = self.nodes[at];
            for arc_at in automaton.arcs_of(node.state, SEPARATOR) {
                let timing = match together {
                    _ if token.pause => VALUE_ENDS_AT_PAUSE,
                    Together::BehindUnits if !self.ends_by_itself(automaton, at, arc_at) => {
                        continue;
                    }
                    _ => VALUES_RUN_TOGETHER,
                };
                let arc = automaton.arc(arc_at);
                self.nodes.push(Node {
                    state: arc.to,
                    cost: node.cost + arc.cost + timing,
                    before: at as u32,
                    arc: arc_at as u32,
                });
            }
        }
    }

    /// Whether the value in front of a separator has a unit or is no number.
    fn ends_by_itself(&self, automaton: &Automaton, at: usize, separator: usize) -> bool {
        let ends = |op: &Op| matches!(op, Op::Unit(_) | Op::Special(_));
        let mut node = self.nodes[at];
        let mut found = automaton.arc_ops(separator).iter().any(ends);
        while !found && node.before != NOTHING_BEFORE {
            if automaton.arc_word(node.arc as usize) == SEPARATOR {
                return false;
            }
            found = automaton.arc_ops(node.arc as usize).iter().any(ends);
            node = self.nodes[node.before as usize];
        }
        found
    }

    fn step(&mut self, automaton: &Automaton, token: &Token) {
        for at in self.frontier.start..self.nodes.len() {
            let node = self.nodes[at];
            let within = token.pause && self.taken > 0 && at < self.frontier.end;
            for arc_at in automaton.arcs_of(node.state, token.id) {
                let arc = automaton.arc(arc_at);
                let timing = match within && !arc.link {
                    true => PAUSE_INSIDE_VALUE,
                    false => 0,
                };
                self.nodes.push(Node {
                    state: arc.to,
                    cost: node.cost + arc.cost + timing,
                    before: at as u32,
                    arc: arc_at as u32,
                });
            }
        }
    }

    /// Keeps the cheapest ways where there are many. The order of equal ways is that of the arcs.
    fn prune(&mut self) {
        if self.frontier.len() <= KEPT_PER_STATE {
            return;
        }
        let ways = &mut self.nodes[self.frontier.clone()];
        ways.sort_by_key(|n| (n.state, n.cost));
        let mut kept = 0;
        let mut same = 0;
        for at in 0..ways.len() {
            same = match at > 0 && ways[at].state == ways[kept.max(1) - 1].state {
                true => same + 1,
                false => 1,
            };
            if same <= KEPT_PER_STATE {
                ways[kept] = ways[at];
                kept += 1;
            }
        }
        ways[..kept].sort_by_key(|n| n.cost);
        let kept = kept.min(KEPT);
        self.nodes.truncate(self.frontier.start + kept);
        self.frontier.end = self.frontier.start + kept;
    }

    /// The states in which the words taken so far may leave an utterance.
    pub(super) fn states(&self) -> impl Iterator<Item = u32> {
        self.nodes[self.frontier.clone()]
            .iter()
            .map(|node| node.state)
    }

    /// The ends of ways: a handle for [`Search::arcs_to`], the state and the cost so far.
    pub(super) fn ends(&self) -> impl Iterator<Item = (usize, u32, u32)> {
        self.frontier
            .clone()
            .map(|at| (at, self.nodes[at].state, self.nodes[at].cost))
    }

    /// Writes the arcs of a way into `arcs`, first word first.
    pub(super) fn arcs_to(&self, end: usize, arcs: &mut Arcs) {
        arcs.clear();
        let mut node = self.nodes[end];
        while node.before != NOTHING_BEFORE {
            arcs.push(node.arc);
            node = self.nodes[node.before as usize];
        }
        arcs.reverse();
    }
}
