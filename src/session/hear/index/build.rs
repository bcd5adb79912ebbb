//! Making the index.

use std::collections::{BTreeMap, BTreeSet};

use super::{Index, Named, Phrase, SymptomKind, Word, letters};
use crate::model::Model;
use crate::model::catalog::Unit;
use crate::model::index::FindingIx;
use crate::session::hear::stem::stem;
use crate::session::hear::token::{Part, Token, stems, tokens};
use crate::session::hear::{Kind, KindSymptom};

impl Index {
    /// Indexes a model and the kinds whose units may appear.
    pub(in crate::session::hear) fn new(model: &Model, kinds: &[Kind]) -> Self {
        let mut index = Self::default();
        for unit in &model.units {
            let mut own = BTreeSet::new();
            let mut names = Vec::new();
            let id = unit.id.replace(['-', '_'], " ");
            for name in [&id, &unit.name].into_iter().chain(&unit.also) {
                own.extend(index.name_words(name));
                names.extend(index.whole_names(name));
            }
            let (kind, nouns) = index.kind_words(&unit.component, &unit.kind_words);
            let component = index.components.entry(unit.component.clone()).or_default();
            component.kind.extend(kind.iter());
            component.nouns.extend(nouns);
            index.units.push(Named { own, kind, names, ..Named::default() });
        }
        for (at, unit) in model.units.iter().enumerate() {
            let mine = &index.units[at];
            let theirs = unit.partners.iter().flat_map(|partner| &index.units[partner.at()].own).copied();
            let partners =
                theirs.filter(|word| !mine.own.contains(word) && !mine.kind.contains(word)).collect();
            index.units[at].partners = partners;
        }
        let mut by_kind: BTreeMap<(String, String), usize> = BTreeMap::new();
        let mut texts: Vec<BTreeSet<String>> = Vec::new();
        for (at, finding) in model.findings.iter().enumerate() {
            let Some(symptom) = &finding.symptom else { continue };
            let entry = *by_kind.entry(finding.kind.clone()).or_insert_with(|| {
                index.symptoms.push(SymptomKind {
                    component: finding.kind.0.clone(),
                    name: finding.kind.1.clone(),
                    say: symptom.say.clone(),
                    outcomes: finding.outcomes.clone(),
                    also: finding.also.clone(),
                    ..SymptomKind::default()
                });
                texts.push(BTreeSet::new());
                index.symptoms.len() - 1
            });
            index.symptoms[entry].findings.push((FindingIx::new(at), finding.unit));
            let unit = finding.unit.map(|u| &model.units[u.at()]);
            let names = [&finding.name, &symptom.say].into_iter().chain(&symptom.also);
            texts[entry].extend(names.map(|text| without_name(text, unit, &model.units)));
        }
        for kind in kinds {
            let (words, nouns) = index.kind_words(&kind.component, &kind.words);
            let component = index.components.entry(kind.component.clone()).or_default();
            component.kind.extend(words);
            component.nouns.extend(nouns);
            let title = kind.words.first().unwrap_or(&kind.component);
            index.titles.insert(kind.component.clone(), title.clone());
            for symptom in &kind.symptoms {
                let entry =
                    *by_kind.entry((kind.component.clone(), symptom.name.clone())).or_insert_with(|| {
                        index.symptoms.push(SymptomKind {
                            component: kind.component.clone(),
                            name: symptom.name.clone(),
                            say: symptom.say.clone(),
                            outcomes: symptom.outcomes.clone(),
                            also: symptom.outcome_words.clone(),
                            ..SymptomKind::default()
                        });
                        texts.push(BTreeSet::new());
                        index.symptoms.len() - 1
                    });
                index.symptoms[entry].may_appear = true;
                texts[entry].extend(kind_texts(symptom));
            }
        }
        for (at, texts) in texts.iter().enumerate() {
            let component = index.symptoms[at].component.clone();
            if !index.components.contains_key(&component) {
                let (kind, nouns) = index.kind_words(&component, &[]);
                index.components.insert(component, Named { kind, nouns, ..Named::default() });
            }
            for text in texts {
                index.add_phrase(at, text);
            }
        }
        index.weigh();
        index.add_outcomes(model);
        index
    }

    /// Outcomes of looks and questions that a caller may tell unasked ("it turns backwards"): those named by a word that
    /// no symptom and no other such outcome uses.
    fn add_outcomes(&mut self, model: &Model) {
        let mut told: BTreeMap<(&(String, String), usize), Vec<usize>> = BTreeMap::new();
        for (at, finding) in model.findings.iter().enumerate() {
            let test = &model.tests[finding.test.at()];
            let gives = test.gives.iter().find(|g| g.finding.at() == at);
            let plain =
                gives.is_some_and(|g| g.scale.is_none() && g.fault_table.is_none() && g.class.is_none());
            if finding.symptom.is_some() || test.reading.is_some() || !plain {
                continue;
            }
            for outcome in
                (1..finding.outcomes.len()).filter(|&o| !matches!(finding.outcomes[o].as_str(), "yes" | "no"))
            {
                told.entry((&finding.kind, outcome)).or_default().push(at);
            }
        }
        let words = |at: usize, outcome: usize| stems(&model.findings[at].outcomes[outcome]);
        let mut uses: BTreeMap<String, usize> = BTreeMap::new();
        for ((_, outcome), findings) in &told {
            words(findings[0], *outcome).into_iter().for_each(|stem| *uses.entry(stem).or_default() += 1);
        }
        for ((kind, outcome), findings) in &told {
            let named = words(findings[0], *outcome);
            let own = |stem: &String| uses.get(stem) == Some(&1) && !self.by_stem.contains_key(stem);
            if !named.iter().any(own) {
                continue;
            }
            let first = &model.findings[findings[0]];
            let unit = first.unit.map(|u| &model.units[u.at()]);
            let asked = without_name(&model.tests[first.test.at()].say, unit, &model.units);
            let subject: Vec<String> = stems(&asked);
            let mut subject: BTreeSet<usize> = subject.iter().map(|stem| self.word(stem)).collect();
            subject.retain(|&word| self.words[word].units == 0);
            self.symptoms.push(SymptomKind {
                component: kind.0.clone(),
                name: kind.1.clone(),
                outcomes: first.outcomes.clone(),
                findings: findings.iter().map(|&f| (FindingIx::new(f), model.findings[f].unit)).collect(),
                only: Some(*outcome),
                subject,
                ..SymptomKind::default()
            });
            let phrase = self.phrases.len();
            self.add_phrase(self.symptoms.len() - 1, &first.outcomes[*outcome]);
            for phrase in &mut self.phrases[phrase..] {
                for &word in &phrase.words {
                    if self.words[word].weight == 0.0 {
                        self.words[word].weight = 1.0;
                    }
                }
                phrase.weight = phrase.words.iter().map(|&w| self.words[w].weight).sum();
            }
        }
    }

    /// The words of a name, with joined forms: "EF-2" is `ef`, `2` and `ef2`; "make-up" is `makeup` alone, for "make" says
    /// nothing of a unit.
    fn name_words(&mut self, name: &str) -> Vec<usize> {
        let tokens = tokens(name);
        let mut out = Vec::new();
        for (at, token) in tokens.iter().enumerate() {
            if token.part == Part::Filler {
                continue;
            }
            let part = (token.joined || tokens.get(at + 1).is_some_and(|n| n.joined))
                && !token.has_digit()
                && !tokens.get(at + 1).is_some_and(Token::has_digit);
            if !part {
                out.push(self.word(&token.stem));
            }
            if let Some(next) = tokens.get(at + 1).filter(|n| n.has_digit() || token.has_digit() || n.joined)
            {
                let joined = stem(&format!("{}{}", token.text, next.text));
                out.push(self.word(&joined));
            }
        }
        out
    }

    /// The words of a kind, and those that alone name it.
    fn kind_words(&mut self, component: &str, words: &[String]) -> (BTreeSet<usize>, BTreeSet<usize>) {
        let (mut all, mut alone) = (BTreeSet::new(), BTreeSet::new());
        for name in words.iter().chain([&component.replace('-', " ")]) {
            let words = self.name_words(name);
            if let [only] = words.as_slice() {
                alone.insert(*only);
            }
            all.extend(words);
        }
        (all, alone)
    }

    /// A name as all of its words, and as one word where it is a tag.
    fn whole_names(&mut self, name: &str) -> Vec<Vec<usize>> {
        let tokens = tokens(name);
        let telling: Vec<&Token> = tokens.iter().filter(|t| t.part == Part::Content).collect();
        let mut names = vec![telling.iter().map(|t| self.word(&t.stem)).collect::<Vec<_>>()];
        if let [letters, number] = telling.as_slice() {
            let joined = stem(&format!("{}{}", letters.text, number.text));
            names.push(vec![self.word(&joined)]);
        }
        names.retain(|words| !words.is_empty());
        names
    }

    fn word(&mut self, stem: &str) -> usize {
        if let Some(&at) = self.by_stem.get(stem) {
            return at;
        }
        self.words.push(Word {
            stem: stem.to_owned(),
            letters: letters(stem),
            weight: 0.0,
            phrases: Vec::new(),
            units: 0,
        });
        self.by_stem.insert(stem.to_owned(), self.words.len() - 1);
        self.words.len() - 1
    }

    fn add_phrase(&mut self, symptom: usize, text: &str) {
        let tokens = tokens(text);
        let negative = tokens.iter().filter(|t| t.part == Part::Negation).count() % 2 == 1;
        let mut words: Vec<usize> = Vec::new();
        for token in tokens.iter().filter(|t| t.counts()) {
            let word = self.word(&token.stem);
            if !words.contains(&word) {
                words.push(word);
            }
        }
        let known = |p: &Phrase| p.symptom == symptom && p.negative == negative && p.words == words;
        if words.is_empty() || self.phrases.iter().rev().take(64).any(known) {
            return;
        }
        for &word in &words {
            self.words[word].phrases.push(self.phrases.len());
        }
        self.phrases.push(Phrase { symptom, words, negative, weight: 0.0 });
    }

    fn weigh(&mut self) {
        let n = self.symptoms.len() as f64;
        for at in 0..self.words.len() {
            let used: BTreeSet<usize> =
                self.words[at].phrases.iter().map(|&p| self.phrases[p].symptom).collect();
            let particle = self.words[at].stem != "off"
                && matches!(tokens(&self.words[at].stem).first().map(|t| t.part), Some(Part::Particle));
            if !used.is_empty() {
                let weight = (n / used.len() as f64).ln_1p() / n.ln_1p();
                self.words[at].weight = weight.max(0.1) * if particle { 0.35 } else { 1.0 };
            }
        }
        for phrase in &mut self.phrases {
            phrase.weight = phrase.words.iter().map(|&w| self.words[w].weight).sum();
        }
        let bearers = self.units.iter().flat_map(|n| n.own.union(&n.kind).copied().collect::<Vec<_>>());
        for word in bearers.collect::<Vec<_>>() {
            self.words[word].units += 1;
        }
        for named in self.components.values() {
            for &word in &named.kind {
                self.words[word].units = self.words[word].units.max(1);
            }
        }
    }
}

fn kind_texts(symptom: &KindSymptom) -> Vec<String> {
    [&symptom.say].into_iter().chain(&symptom.also).map(|text| without_name(text, None, &[])).collect()
}

/// A text without the unit's name and without placeholders, so that the same phrase on two units is one. Units that are
/// told with their label ("fryer fan (EF-1)") go whole, whichever they are.
fn without_name(text: &str, unit: Option<&Unit>, units: &[Unit]) -> String {
    let mut out = text.to_owned();
    while let Some(open) = out.find('{') {
        let Some(close) = out[open..].find('}') else { break };
        out.replace_range(open..=open + close, " ");
    }
    let mut from = 0;
    while let Some(open) = out[from..].find('(').map(|at| at + from) {
        let Some(close) = out[open..].find(')').map(|at| at + open) else { break };
        from = open + 1;
        if let Some(unit) = units.iter().find(|u| u.id == out[open + 1..close]) {
            let begin = open.saturating_sub(unit.name.len() + 1);
            let named =
                out.get(begin..open).is_some_and(|name| name.trim_end().eq_ignore_ascii_case(&unit.name));
            out.replace_range(if named { begin } else { open }..=close, " ");
            from = 0;
        }
    }
    let name = unit.map_or("", |u| u.name.as_str());
    // ASCII letters only change, so that positions stay.
    let stands = out.to_ascii_lowercase().find(&name.to_ascii_lowercase());
    if let Some(at) = stands.filter(|_| !name.is_empty()) {
        out.replace_range(at..at + name.len(), " ");
    }
    out
}
