//! Fills `{unit}`, `{unit.key}`, `{relation}` and `{relation.key}` in the texts of a package.

use super::site::Site;

impl Site<'_> {
    /// The text as it reads for one instance.
    ///
    /// A nameplate value that is not known reads as what it is, in round brackets, so that the sentence still makes
    /// sense. A doubled brace stands for itself. A text that begins with a name begins with a capital.
    pub(super) fn fill(&self, instance: usize, text: &str) -> String {
        if !text.contains(['{', '}']) {
            return text.to_owned();
        }
        let mut out = String::with_capacity(text.len() + 32);
        let mut rest = text;
        while let Some(at) = rest.find(['{', '}']) {
            let (before, brace) = rest.split_at(at);
            out.push_str(before);
            let doubled = brace.starts_with("{{") || brace.starts_with("}}");
            match brace.find('}') {
                _ if doubled => {
                    out.push_str(&brace[..1]);
                    rest = &brace[2..];
                }
                Some(end) if brace.starts_with('{') => {
                    let filled = self.placeholder(instance, &brace[1..end]);
                    if out.is_empty() {
                        out.extend(filled.chars().next().into_iter().flat_map(char::to_uppercase));
                        out.extend(filled.chars().skip(1));
                    } else {
                        out.push_str(&filled);
                    }
                    rest = &brace[end + 1..];
                }
                _ => {
                    out.push_str(&brace[..1]);
                    rest = &brace[1..];
                }
            }
        }
        out.push_str(rest);
        out
    }

    fn placeholder(&self, instance: usize, name: &str) -> String {
        let own = &self.instances[instance];
        let (owner, key) = name.split_once('.').map_or((name, None), |(owner, key)| (owner, Some(key)));
        let Some(key) = key else {
            if owner == "unit" {
                return own.name.clone();
            }
            let partners = self.partners(instance, owner).unwrap_or_default();
            let names: Vec<&str> = partners.iter().map(|&at| &*self.instances[at].name).collect();
            return match names.as_slice() {
                [] => format!("the {owner} of {}", own.name),
                [only] => (*only).to_owned(),
                [most @ .., last] => format!("{} and {last}", most.join(", ")),
            };
        };
        if let Some(unit) = self.owner(instance, owner) {
            let unit = &self.units[unit];
            if let Some(plate) = unit.said.nameplate.get(key) {
                return plate.to_string();
            }
            let partner = &self.instances[unit.instance];
            let declared = partner.component.nameplate.iter().find(|k| k.id.value == key);
            let what = declared.and_then(|k| k.about.as_ref()).map_or(key, |about| &about.value);
            return format!("({what} of {})", partner.name);
        }
        format!("({owner} {key})")
    }
}
