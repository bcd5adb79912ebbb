//! The units of one job with the components that stand for them, and who reaches whom by which relation.

use std::collections::HashMap;

use crate::diagnostic::{Code, Diagnostic};
use crate::job::{Job, Plate, Unit, implied};
use crate::knowledge::{Component, Knowledge, Many, Name, Relation, Stage, Via};
use crate::quantity::Value;

/// A relation that leads nowhere, so that the links through it are left out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LeftOut {
    /// The unit that has no such partner.
    pub unit: String,
    /// The relation.
    pub relation: String,
}

/// One unit, named or implied.
pub(super) struct SiteUnit<'a> {
    pub said: std::borrow::Cow<'a, Unit>,
    pub implied: bool,
    /// The instance that stands for it.
    pub instance: usize,
}

/// A component on one unit, or once on the job.
pub(super) struct Instance<'a> {
    pub component: &'a Component,
    pub unit: Option<usize>,
    /// The first half of its ids.
    pub id: String,
    /// As `{unit}` reads.
    pub name: String,
    /// Per relation, the instances that it reaches.
    reach: Vec<Vec<usize>>,
    own: [usize; 1],
}

/// The job as instances of components.
pub(super) struct Site<'a> {
    pub stage: Stage,
    pub units: Vec<SiteUnit<'a>>,
    pub instances: Vec<Instance<'a>>,
    /// Per component that the job has once, its instance.
    once: HashMap<usize, usize>,
    pub left_out: Vec<LeftOut>,
    /// Where units of a kind usually are.
    usual_places: &'a [(Name, Name)],
}

impl<'a> Site<'a> {
    /// Lays out the job; without one, only components that every job has once.
    pub(super) fn new(
        knowledge: &'a Knowledge,
        job: Option<&'a Job>,
        stage: Stage,
        problems: &mut Vec<Diagnostic>,
    ) -> Self {
        let mut layout = Layout {
            knowledge,
            units: Vec::new(),
            of_component: vec![Vec::new(); knowledge.components.len()],
            chosen: Vec::new(),
        };
        for unit in job.iter().flat_map(|job| &job.units) {
            if let Some(component) = knowledge.of_kind(&unit.kind) {
                layout.add(std::borrow::Cow::Borrowed(unit), component, Vec::new(), false);
            } else {
                let words =
                    format!("unit `{}` is of kind `{}`, which the package does not know", unit.id, unit.kind);
                let problem = match unit.span {
                    Some(span) => Diagnostic::new(Code::UnknownWord, span, words),
                    None => Diagnostic::nowhere(Code::UnknownWord, words),
                };
                problems.push(problem.nearest(&unit.kind, knowledge.unit_kinds()));
            }
        }
        let chosen = layout.choose(job.is_some_and(|job| job.has_sheet), problems);
        layout.instances(stage, chosen)
    }

    /// The instances that a reference from `instance` speaks of.
    pub(super) fn reached(&self, instance: usize, via: Via) -> &[usize] {
        match via {
            Via::Same => &self.instances[instance].own,
            Via::Relation(relation) => &self.instances[instance].reach[relation],
            Via::Once(component) => self.once.get(&component).map_or(&[], |&at| &self.instances[at].own),
        }
    }

    /// Where a unit is; a unit of a sheet that does not say is at the panel.
    pub(super) fn place(&self, unit: usize) -> Option<&str> {
        let said = &self.units[unit].said;
        let usual = self.usual_places.iter().find(|(kind, _)| kind.value == said.kind && said.span.is_none());
        said.place.as_deref().or(usual.map(|(_, place)| &*place.value))
    }

    /// The value of a name in an expression of `instance`, if it is known.
    pub(super) fn fact(&self, instance: usize, name: &str) -> Option<Value> {
        if name == "stage" {
            return Some(Value::Text(self.stage.id().to_owned()));
        }
        let (owner, key) = name.split_once('.')?;
        let unit = self.owner(instance, owner)?;
        self.units[unit].said.nameplate.get(key).map(|plate| match plate {
            Plate::Number(number) => Value::Number(*number),
            Plate::Text(text) => Value::Text(text.clone()),
        })
    }

    /// The unit that `unit` or the name of a relation to one unit stands for.
    pub(super) fn owner(&self, instance: usize, owner: &str) -> Option<usize> {
        if owner == "unit" {
            return self.instances[instance].unit;
        }
        self.partners(instance, owner)?.first().and_then(|&at| self.instances[at].unit)
    }

    /// The instances that the relation of that name reaches.
    pub(super) fn partners(&self, instance: usize, relation: &str) -> Option<&[usize]> {
        let own = &self.instances[instance];
        let at = own.component.relations.iter().position(|r| r.id.value == relation)?;
        Some(&own.reach[at])
    }
}

/// Whom a unit reaches by a relation that the sheet states or leaves to be found.
type Chosen = Vec<Vec<Vec<usize>>>;

struct Layout<'a> {
    knowledge: &'a Knowledge,
    /// Unit, component, and the components whose units implied it.
    units: Vec<(SiteUnit<'a>, usize, Vec<usize>)>,
    of_component: Vec<Vec<usize>>,
    /// Per unit and relation, the partners found so far.
    chosen: Chosen,
}

impl<'a> Layout<'a> {
    fn add(
        &mut self,
        said: std::borrow::Cow<'a, Unit>,
        component: usize,
        chain: Vec<usize>,
        implied: bool,
    ) -> usize {
        let at = self.units.len();
        self.of_component[component].push(at);
        self.units.push((SiteUnit { said, implied, instance: usize::MAX }, component, chain));
        at
    }

    /// All units of the components that a relation can reach.
    fn candidates(&self, components: &[usize]) -> Vec<usize> {
        let mut all: Vec<usize> = components.iter().flat_map(|&c| &self.of_component[c]).copied().collect();
        all.sort_unstable();
        all
    }

    /// Finds, for every unit and relation of it to one other, that other. What a sheet leaves open of its own units is a
    /// problem; of units that were only mentioned, a partner that must be there is implied. Units grow while it runs.
    fn choose(&mut self, has_sheet: bool, problems: &mut Vec<Diagnostic>) -> Chosen {
        let by_id: HashMap<String, usize> =
            self.units.iter().enumerate().map(|(at, (unit, ..))| (unit.said.id.clone(), at)).collect();
        for at in 0..self.units.len() {
            let stated = self.stated(at, &by_id);
            self.chosen.push(stated);
        }
        loop {
            let mut at = 0;
            while at < self.units.len() {
                self.partners(at, has_sheet, problems);
                at += 1;
            }
            if !self.imply_a_holder(has_sheet) {
                return std::mem::take(&mut self.chosen);
            }
        }
    }

    /// The partners that a unit states, per relation.
    fn stated(&self, at: usize, by_id: &HashMap<String, usize>) -> Vec<Vec<usize>> {
        let (unit, component, _) = &self.units[at];
        let relations = self.knowledge.components[*component].relations.iter();
        let ids = |name: &str| unit.said.relations.get(name).map_or(&[][..], Vec::as_slice);
        relations.map(|r| ids(&r.id.value).iter().filter_map(|id| by_id.get(id).copied()).collect()).collect()
    }

    /// Fills in the partners that a unit must have and does not state.
    fn partners(&mut self, at: usize, has_sheet: bool, problems: &mut Vec<Diagnostic>) {
        let component = self.units[at].1;
        let listed = has_sheet && self.units[at].0.said.span.is_some();
        let relations = &self.knowledge.components[component].relations;
        for (number, relation) in relations.iter().enumerate() {
            // A partner of its own that a sheet may leave out is taken to be there where no sheet says.
            let wanted = match relation.many {
                Many::One => true,
                Many::Optional => relation.own && !listed,
                Many::All | Many::Inverse(_) => false,
            };
            if !wanted || !self.chosen[at][number].is_empty() {
                continue;
            }
            let mut fitting = self.candidates(&relation.components);
            if relation.own {
                fitting.retain(|&unit| self.holder(component, number, unit).is_none());
                // The motor of a fan's drive is the motor of that fan.
                let near: Vec<usize> =
                    fitting.iter().copied().filter(|&unit| self.together(at, unit)).collect();
                if !listed && near.len() == 1 {
                    fitting = near;
                }
            }
            let partner = match fitting.as_slice() {
                [only] => Some(*only),
                _ if listed => {
                    problems.push(self.unstated(at, relation, &fitting));
                    None
                }
                _ => self.imply_a_partner(at, relation),
            };
            self.chosen[at][number].extend(partner);
        }
    }

    /// The unit of `component` that has `unit` as its partner by relation `number`.
    fn holder(&self, component: usize, number: usize, unit: usize) -> Option<usize> {
        let mut holders = self.of_component[component].iter().copied();
        holders.find(|&holder| self.chosen.get(holder).is_some_and(|reach| reach[number].contains(&unit)))
    }

    fn named(&self, id: &str) -> Option<&Unit> {
        self.units.iter().map(|(unit, ..)| &*unit.said).find(|unit| unit.id == id)
    }

    /// Whether one unit has both as partners.
    fn together(&self, one: usize, other: usize) -> bool {
        let has = |reach: &[Vec<usize>], unit| reach.iter().any(|partners| partners.contains(&unit));
        self.chosen.iter().any(|reach| has(reach, one) && has(reach, other))
    }

    /// The unnamed partner of a unit in a session without a sheet.
    fn imply_a_partner(&mut self, at: usize, relation: &Relation) -> Option<usize> {
        // Of a wider kind nobody knows which.
        let [kind] = relation.components.as_slice() else { return None };
        let partner = &self.knowledge.components[*kind];
        let unit = implied::partner(&self.units[at].0.said, relation, partner, |id| self.named(id))?;
        self.imply(at, unit, *kind)
    }

    /// Adds one unnamed unit that must have a unit here as its own partner, if one is missing.
    fn imply_a_holder(&mut self, has_sheet: bool) -> bool {
        let knowledge = self.knowledge;
        for at in 0..self.units.len() {
            if has_sheet && self.units[at].0.said.span.is_some() {
                continue;
            }
            for (component, holder) in knowledge.components.iter().enumerate() {
                for (number, relation) in holder.relations.iter().enumerate() {
                    let held = relation.own && relation.components.contains(&self.units[at].1);
                    if !held || self.holder(component, number, at).is_some() {
                        continue;
                    }
                    let held = &self.units[at].0.said;
                    let unit = implied::holder(held, relation, holder, |id| self.named(id));
                    if let Some(new) = unit.and_then(|unit| self.imply(at, unit, component)) {
                        self.chosen[new][number].push(at);
                        return true;
                    }
                }
            }
        }
        false
    }

    /// Adds a unit that one at `at` implies.
    fn imply(&mut self, at: usize, unit: Unit, component: usize) -> Option<usize> {
        let mut chain = self.units[at].2.clone();
        chain.push(self.units[at].1);
        // A kind that needs one of its own kind would go on for ever.
        if chain.contains(&component) {
            return None;
        }
        let relations = self.knowledge.components[component].relations.len();
        let new = self.add(std::borrow::Cow::Owned(unit), component, chain, true);
        self.chosen.push(vec![Vec::new(); relations]);
        Some(new)
    }

    fn unstated(&self, at: usize, relation: &Relation, fitting: &[usize]) -> Diagnostic {
        let found = fitting.len();
        let unit = &self.units[at].0.said;
        let (name, kind) = (&relation.id.value, &relation.kind.value);
        let words = format!("unit `{}` does not say its `{name}`", unit.id);
        let problem = match unit.span {
            Some(span) => Diagnostic::new(Code::MissingRelation, span, words),
            None => Diagnostic::nowhere(Code::MissingRelation, words),
        };
        if found == 0 {
            problem
                .why(format!(
                    "every unit of kind `{}` has a `{name}` of kind `{kind}`; the sheet lists none",
                    unit.kind
                ))
                .help(format!("add a unit with `is: {kind}`"))
        } else {
            let first = &self.units[fitting[0]].0.said.id;
            problem
                .why(format!("the sheet lists {found} units of kind `{kind}`, so that it has to say which"))
                .help(format!("add `{name}: {first}` to `{}`, say", unit.id))
        }
    }

    fn instances(self, stage: Stage, chosen: Chosen) -> Site<'a> {
        let Self { knowledge, units, of_component, .. } = self;
        let mut instances = Vec::new();
        let mut once = HashMap::new();
        let (mut units, components): (Vec<_>, Vec<_>) =
            units.into_iter().map(|(unit, component, _)| (unit, component)).unzip();
        for (at, component) in knowledge.components.iter().enumerate() {
            let mut add = |unit: Option<usize>, id: String, name: String| {
                let own = [instances.len()];
                instances.push(Instance { component, unit, id, name, reach: Vec::new(), own });
                own[0]
            };
            if component.each.is_none() {
                once.insert(at, add(None, component.id.value.clone(), component.title.value.clone()));
            }
            for &unit in &of_component[at] {
                let said = &units[unit].said;
                let (id, name) = (said.id.clone(), label(said, units[unit].implied));
                units[unit].instance = add(Some(unit), id, name);
            }
        }
        // A relation that the sheet may state was settled above, the others follow from it.
        let mut left_out = Vec::new();
        let reach: Vec<Vec<Vec<usize>>> = instances
            .iter()
            .map(|own: &Instance<'_>| {
                let relations = own.component.relations.iter().enumerate();
                relations
                    .map(|(number, relation)| {
                        let of_kind = || relation.components.iter().flat_map(|&c| &of_component[c]).copied();
                        let stated = own.unit.map_or(&[][..], |unit| &chosen[unit][number]);
                        let one = matches!(relation.many, Many::One | Many::Optional);
                        let mut partners: Vec<usize> = match &relation.many {
                            Many::All if stated.is_empty() => of_kind().collect(),
                            Many::One | Many::Optional | Many::All => stated.to_vec(),
                            Many::Inverse(inverse) => of_kind()
                                .filter(|&other| {
                                    let theirs = &knowledge.components[components[other]].relations;
                                    let back = theirs.iter().position(|r| r.id.value == inverse.value);
                                    back.zip(own.unit).is_some_and(|(n, own)| chosen[other][n].contains(&own))
                                })
                                .collect(),
                        };
                        // A component that the job has once reaches the only unit of a kind.
                        if own.unit.is_none() && one {
                            let all: Vec<usize> = of_kind().collect();
                            partners.extend(all.as_slice().first().filter(|_| all.len() == 1));
                        }
                        if partners.is_empty() && one {
                            let (unit, relation) = (own.id.clone(), relation.id.value.clone());
                            left_out.push(LeftOut { unit, relation });
                        }
                        partners.sort_unstable();
                        partners.dedup();
                        partners.into_iter().map(|unit| units[unit].instance).collect()
                    })
                    .collect()
            })
            .collect();
        for (own, reach) in instances.iter_mut().zip(reach) {
            own.reach = reach;
        }
        Site { stage, units, instances, once, left_out, usual_places: &knowledge.practice.usual_places }
    }
}

/// A unit's name for people, with its label where it has one.
fn label(unit: &Unit, implied: bool) -> String {
    let made_up = implied || unit.span.is_none() && !unit.name.is_empty();
    if unit.name.is_empty() {
        unit.id.clone()
    } else if made_up || unit.name.contains(&unit.id) {
        unit.name.clone()
    } else {
        format!("{} ({})", unit.name, unit.id)
    }
}
