//! What fixes leave of a class, numbered, with the effect that every fix has on it.
//!
//! In: the classes of a problem and what each fix removes. Out: for a class with some of its causes gone, the fixes that
//! remove something of it, each with its chance and with what is left then. Worked out when first asked for, and once.
//!
//! Invariant: what has nothing gone bears the number of its class. Who does a fix changes its price, never its effect.

use std::collections::HashMap;

use super::problem::{Candidate, Problem};
use crate::model::practice::BitSet;

/// The number of a class with what is gone of it.
pub(crate) type Rest = u32;

/// What a fix does to a rest.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hit {
    /// The fix.
    pub(crate) fix: u32,
    /// The chance that it removes at least one cause.
    pub(crate) chance: f64,
    from: u32,
    to: u32,
}

#[derive(Clone, Copy, Debug)]
struct Form {
    class: u32,
    gone: BitSet,
    cured: bool,
    /// Its hits, once they were asked for.
    hits: Option<(u32, u32)>,
    /// Its fixes modulo 128: what is not among them does not touch it.
    touched: BitSet,
}

/// The rests of one problem.
#[derive(Clone, Debug)]
pub(crate) struct Remaining {
    /// For each cause, the fixes that remove it, with their chance.
    by_cause: Vec<Vec<(u32, f64)>>,
    known: HashMap<(u32, u128), Rest>,
    forms: Vec<Form>,
    hits: Vec<Hit>,
    after: Vec<(Rest, f64)>,
}

impl Remaining {
    /// The rests of these classes, nothing gone.
    pub(crate) fn new(problem: &Problem, classes: &[Candidate]) -> Self {
        let mut by_cause = vec![Vec::new(); 128];
        for (at, fix) in problem.fixes.iter().enumerate() {
            for &(cause, chance) in fix.removes.iter().filter(|(_, chance)| *chance > 0.0) {
                by_cause[usize::from(cause)].push((at as u32, chance));
            }
        }
        let form = |(class, candidate): (usize, &Candidate)| Form {
            class: class as u32,
            gone: BitSet::default(),
            cured: candidate.cured(BitSet::default()),
            hits: None,
            touched: BitSet::default(),
        };
        let forms = classes.iter().enumerate().map(form).collect();
        Self { by_cause, known: HashMap::new(), forms, hits: Vec::new(), after: Vec::new() }
    }

    /// The fixes that remove a cause, with their chance.
    pub(crate) fn fixes_of(&self, cause: usize) -> &[(u32, f64)] {
        &self.by_cause[cause]
    }

    /// The number of a class with that gone.
    pub(crate) fn rest(&mut self, classes: &[Candidate], class: usize, gone: BitSet) -> Rest {
        if gone.is_empty() {
            return class as Rest;
        }
        let next = self.forms.len() as Rest;
        let rest = *self.known.entry((class as u32, gone.0)).or_insert(next);
        if rest == next {
            let cured = classes[class].cured(gone);
            self.forms.push(Form {
                class: class as u32,
                gone,
                cured,
                hits: None,
                touched: BitSet::default(),
            });
        }
        rest
    }

    /// The class of a rest.
    pub(crate) fn class(&self, rest: Rest) -> usize {
        self.forms[rest as usize].class as usize
    }

    /// Whether nothing keeps a complaint alive.
    pub(crate) fn cured(&self, rest: Rest) -> bool {
        self.forms[rest as usize].cured
    }

    /// Works out what fixes do to a rest. To be called before [`Self::hits`] and [`Self::hit`].
    pub(crate) fn open(&mut self, classes: &[Candidate], rest: Rest) {
        let Form { class, gone, hits: None, .. } = self.forms[rest as usize] else { return };
        let candidate = &classes[class as usize];
        let first = self.hits.len();
        let mut touched = BitSet::default();
        // P(a fix removes at least one cause) = 1 − Π(1 − q), over the causes that do not break again.
        for cause in candidate.causes.minus(gone).iter() {
            if candidate.blocked(cause as u8, gone) {
                continue;
            }
            for &(fix, chance) in &self.by_cause[cause] {
                match self.hits[first..].iter_mut().find(|hit| hit.fix == fix) {
                    Some(hit) => hit.chance *= 1.0 - chance,
                    None => self.hits.push(Hit { fix, chance: 1.0 - chance, from: 0, to: 0 }),
                }
            }
        }
        for at in first..self.hits.len() {
            let fix = self.hits[at].fix;
            touched = touched.with(fix as usize % 128);
            self.hits[at].chance = 1.0 - self.hits[at].chance;
            self.hits[at].from = self.after.len() as u32;
            self.leave(classes, class as usize, gone, fix);
            self.hits[at].to = self.after.len() as u32;
        }
        self.forms[rest as usize].hits = Some((first as u32, self.hits.len() as u32));
        self.forms[rest as usize].touched = touched;
    }

    /// What a fix leaves that is not cured, with its chance, at the end of `after`.
    fn leave(&mut self, classes: &[Candidate], class: usize, gone: BitSet, fix: u32) {
        let there = classes[class].causes.minus(gone);
        let mut removes = [(0u8, 0.0f64); 16];
        let mut count = 0;
        for cause in there.iter() {
            let chance = self.by_cause[cause].iter().find(|(other, _)| *other == fix);
            if let (Some(&(_, chance)), true) = (chance, count < removes.len()) {
                removes[count] = (cause as u8, chance);
                count += 1;
            }
        }
        let mut then: Vec<(BitSet, f64)> = Vec::with_capacity(1 << count);
        remove(&classes[class], gone, &removes[..count], |gone, chance| then.push((gone, chance)));
        for (gone, chance) in then {
            if !classes[class].cured(gone) {
                let rest = self.rest(classes, class, gone);
                self.after.push((rest, chance));
            }
        }
    }

    /// The fixes that remove something of an opened rest.
    #[inline]
    pub(crate) fn hits(&self, rest: Rest) -> &[Hit] {
        let (from, to) = self.forms[rest as usize].hits.unwrap_or_default();
        &self.hits[from as usize..to as usize]
    }

    /// What one fix does to an opened rest; `None`: nothing.
    #[inline]
    pub(crate) fn hit(&self, rest: Rest, fix: usize) -> Option<&Hit> {
        if !self.forms[rest as usize].touched.has(fix % 128) {
            return None;
        }
        self.hits(rest).iter().find(|hit| hit.fix as usize == fix)
    }

    /// What a hit leaves that is not cured, with its chance.
    #[inline]
    pub(crate) fn after(&self, hit: &Hit) -> &[(Rest, f64)] {
        &self.after[hit.from as usize..hit.to as usize]
    }
}

/// What a fix makes of a candidate: what is gone then, with its chance, for each way in which its success draws can fall. A
/// led-to cause is only removed if, by then, nothing that it was led to by stands; one act may remove both.
pub(crate) fn remove(
    candidate: &Candidate,
    gone: BitSet,
    removes: &[(u8, f64)],
    mut each: impl FnMut(BitSet, f64),
) {
    let there = candidate.causes.minus(gone);
    let mut hit = [(0u8, 0.0f64); 16];
    let mut count = 0;
    for &(cause, q) in removes {
        if q > 0.0 && there.has(cause.into()) && count < hit.len() {
            hit[count] = (cause, q);
            count += 1;
        }
    }
    for draw in 0..1u32 << count {
        let mut chance = 1.0;
        let mut works = BitSet::default();
        for (bit, &(cause, q)) in hit[..count].iter().enumerate() {
            if draw >> bit & 1 == 1 {
                chance *= q;
                works = works.with(cause.into());
            } else {
                chance *= 1.0 - q;
            }
        }
        if chance <= 0.0 {
            continue;
        }
        // Causes that something led to go only with or after it.
        let mut then = gone;
        while let Some(cause) =
            works.minus(then).iter().find(|&cause| !candidate.blocked(cause as u8, then.with(cause)))
        {
            then = then.with(cause);
        }
        each(then, chance);
    }
}
