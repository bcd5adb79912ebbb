//! The names that the expressions of a component may use.

use super::component::{Component, Many, NameplateKey};
use super::finding::Reading;
use super::stage::STAGES;
use crate::quantity::{Kind, Vocabulary};

impl Component {
    /// The names that a `when` of this component may use: `stage`, `unit.KEY`, and `RELATION.KEY` of each relation to a
    /// single unit. `all` is [`Knowledge::components`](super::Knowledge::components).
    #[must_use]
    pub fn words_of_when(&self, all: &[Self]) -> Vocabulary {
        let mut words = Vocabulary::new();
        words.add_choice("stage", STAGES.map(str::to_owned));
        add_nameplate(&mut words, "unit", &self.nameplate);
        for relation in self.relations.iter().filter(|r| matches!(r.many, Many::One | Many::Optional)) {
            for component in relation.components.iter().filter_map(|&at| all.get(at)) {
                add_nameplate(&mut words, &relation.id, &component.nameplate);
            }
        }
        words
    }

    /// The names that a `value` of this component may use: those of a `when`, `reading` and `readings`; in a test that reads
    /// several quantities, the name of each in their place.
    #[must_use]
    pub fn words_of_value(&self, all: &[Self], readings: &[Reading]) -> Vocabulary {
        let mut words = self.words_of_when(all);
        if readings.iter().any(|reading| reading.id.is_some()) {
            for (reading, id) in readings.iter().filter_map(|reading| Some((reading, reading.id.as_ref()?))) {
                words.add(&id.value, if reading.count == 1 { Kind::Number } else { Kind::Numbers });
            }
        } else {
            words.add("reading", Kind::Number);
            words.add("readings", Kind::Numbers);
        }
        words
    }
}

fn add_nameplate(words: &mut Vocabulary, owner: &str, nameplate: &[NameplateKey]) {
    for key in nameplate {
        let name = format!("{owner}.{}", key.id.value);
        if key.measured_in.is_some() {
            words.add(name, Kind::Number);
        } else {
            words.add_choice(name, key.one_of.iter().map(|option| option.value.clone()));
        }
    }
}
