//! The network made small: no silent steps, equal labels joined, equal states merged.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::lexicon::WordId;
use super::network::{END, Network, START};
use super::op::Op;

/// The number of a list of ops in an [`OpLists`].
pub(super) type OpsId = u32;

/// Lists of ops, each once. List 0 is empty.
#[derive(Debug, Clone)]
pub(super) struct OpLists {
    lists: Vec<Vec<Op>>,
    ids: HashMap<Vec<Op>, OpsId>,
}

impl OpLists {
    pub(super) fn new() -> OpLists {
        OpLists {
            lists: vec![Vec::new()],
            ids: HashMap::from([(Vec::new(), 0)]),
        }
    }

    pub(super) fn intern(&mut self, ops: &[Op]) -> OpsId {
        if let Some(id) = self.ids.get(ops) {
            return *id;
        }
        let id = self.lists.len() as OpsId;
        self.lists.push(ops.to_vec());
        self.ids.insert(ops.to_vec(), id);
        id
    }

    pub(super) fn len(&self) -> usize {
        self.lists.len()
    }

    pub(super) fn get(&self, id: OpsId) -> &[Op] {
        &self.lists[id as usize]
    }
}

/// What an arc says, means and costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Label {
    pub word: WordId,
    pub ops: OpsId,
    pub cost: u32,
}

/// One state: where its words lead, and how an utterance may end here.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct State {
    pub arcs: Vec<(Label, u32)>,
    pub finals: Vec<(OpsId, u32)>,
}

/// States numbered from 0, the start.
#[derive(Debug, Clone, Default)]
pub(super) struct Graph {
    pub states: Vec<State>,
}

impl Graph {
    /// The same sentences with the same meanings in fewer states.
    pub(super) fn from_network(network: &Network, lists: &mut OpLists) -> Graph {
        let mut silent = Silent {
            network,
            lists,
            known: HashMap::new(),
        };
        let mut graph = Graph::default();
        let mut numbers: HashMap<BTreeSet<usize>, u32> = HashMap::new();
        let mut open = vec![BTreeSet::from([START])];
        numbers.insert(open[0].clone(), 0);
        while graph.states.len() < open.len() {
            let set = open[graph.states.len()].clone();
            let mut joined: BTreeMap<Label, BTreeSet<usize>> = BTreeMap::new();
            let mut finals = BTreeSet::new();
            for member in &set {
                let steps = silent.steps(*member);
                finals.extend(steps.finals.iter().copied());
                for (label, to) in &steps.arcs {
                    joined.entry(*label).or_default().insert(*to);
                }
            }
            let mut arcs = Vec::with_capacity(joined.len());
            for (label, target) in joined {
                let fresh = open.len() as u32;
                let to = *numbers.entry(target.clone()).or_insert_with(|| {
                    open.push(target);
                    fresh
                });
                arcs.push((label, to));
            }
            let finals = finals.into_iter().collect();
            graph.states.push(State { arcs, finals });
        }
        graph.merged()
    }

    /// Keeps only what `wanted` accepts and what can still lead to an end.
    pub(super) fn filtered(&self, wanted: impl Fn(OpsId) -> bool) -> Graph {
        let states = self.states.iter().map(|state| State {
            arcs: state
                .arcs
                .iter()
                .copied()
                .filter(|(l, _)| wanted(l.ops))
                .collect(),
            finals: state
                .finals
                .iter()
                .copied()
                .filter(|(o, _)| wanted(*o))
                .collect(),
        });
        Graph {
            states: states.collect(),
        }
        .trimmed()
    }

    /// Without states that cannot be reached or cannot reach an end; the start always stays.
    pub(super) fn trimmed(&self) -> Graph {
        let useful = self.useful();
        let mut numbers = vec![u32::MAX; self.states.len()];
        let mut order = Vec::new();
        if !self.states.is_empty() {
            numbers[0] = 0;
            order.push(0);
        }
        let mut next = 0;
        while next < order.len() {
            for (_, to) in &self.states[order[next]].arcs {
                let to = *to as usize;
                if useful[to] && numbers[to] == u32::MAX {
                    numbers[to] = order.len() as u32;
                    order.push(to);
                }
            }
            next += 1;
        }
        let renumbered = |old: &usize| {
            let state = &self.states[*old];
            State {
                arcs: state
                    .arcs
                    .iter()
                    .filter(|(_, to)| useful[*to as usize])
                    .map(|(label, to)| (*label, numbers[*to as usize]))
                    .collect(),
                finals: state.finals.clone(),
            }
        };
        Graph {
            states: order.iter().map(renumbered).collect(),
        }
    }

    /// Which states can reach an end.
    fn useful(&self) -> Vec<bool> {
        let mut before = vec![Vec::new(); self.states.len()];
        let mut useful = vec![false; self.states.len()];
        let mut open = Vec::new();
        for (at, state) in self.states.iter().enumerate() {
            for (_, to) in &state.arcs {
                before[*to as usize].push(at);
            }
            if !state.finals.is_empty() {
                useful[at] = true;
                open.push(at);
            }
        }
        while let Some(at) = open.pop() {
            for from in &before[at] {
                if !useful[*from] {
                    useful[*from] = true;
                    open.push(*from);
                }
            }
        }
        useful
    }

    /// States that accept the same endings become one (Moore's algorithm).
    pub(super) fn merged(&self) -> Graph {
        let graph = self.trimmed();
        let mut class = vec![0_u32; graph.states.len()];
        let mut count = 0;
        loop {
            let mut classes = HashMap::new();
            let next: Vec<u32> = graph
                .states
                .iter()
                .zip(&class)
                .map(|(state, own)| {
                    let arcs: Vec<_> = state
                        .arcs
                        .iter()
                        .map(|(l, to)| (*l, class[*to as usize]))
                        .collect();
                    let fresh = classes.len() as u32;
                    *classes.entry((*own, &state.finals, arcs)).or_insert(fresh)
                })
                .collect();
            let stable = classes.len() == count;
            count = classes.len();
            class = next;
            if stable {
                break;
            }
        }
        graph.folded(&class, count)
    }

    /// One state for each class; the start's class is the first that appears, so it stays 0.
    fn folded(&self, class: &[u32], count: usize) -> Graph {
        let mut states = vec![None; count];
        for (state, class_of) in self.states.iter().zip(class) {
            states[*class_of as usize].get_or_insert_with(|| State {
                arcs: state
                    .arcs
                    .iter()
                    .map(|(l, to)| (*l, class[*to as usize]))
                    .collect(),
                finals: state.finals.clone(),
            });
        }
        Graph {
            states: states.into_iter().flatten().collect(),
        }
    }
}

/// What a state of the network can do once silent steps are taken.
#[derive(Debug, Clone, Default)]
struct Steps {
    arcs: BTreeSet<(Label, usize)>,
    finals: BTreeSet<(OpsId, u32)>,
}

/// Takes silent steps, remembering what it found for each state.
struct Silent<'a> {
    network: &'a Network,
    lists: &'a mut OpLists,
    known: HashMap<usize, Steps>,
}

impl Silent<'_> {
    fn steps(&mut self, state: usize) -> &Steps {
        if !self.known.contains_key(&state) {
            let steps = self.find(state);
            self.known.insert(state, steps);
        }
        &self.known[&state]
    }

    /// Each state is visited once for each list of ops that leads to it; a list that repeats a
    /// state of its own path adds nothing and is dropped.
    fn find(&mut self, state: usize) -> Steps {
        let mut steps = Steps::default();
        let mut seen = BTreeSet::new();
        let mut open = vec![(state, Vec::new(), 0_u32, vec![state])];
        while let Some((at, ops, cost, path)) = open.pop() {
            let ops_id = self.lists.intern(&ops);
            if !seen.insert((at, ops_id, cost)) {
                continue;
            }
            if at == END {
                steps.finals.insert((ops_id, cost));
            }
            for step in &self.network.steps[at] {
                let mut ops = ops.clone();
                ops.extend_from_slice(self.lists.get(step.ops));
                let cost = cost + step.cost;
                match step.word {
                    Some(word) => {
                        let ops = self.lists.intern(&ops);
                        steps.arcs.insert((Label { word, ops, cost }, step.to));
                    }
                    None if !path.contains(&step.to) => {
                        let mut path = path.clone();
                        path.push(step.to);
                        open.push((step.to, ops, cost, path));
                    }
                    None => {}
                }
            }
        }
        steps
    }
}
