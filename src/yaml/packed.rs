//! A tree as bytes, for files that are read when the program is built.
//!
//! Layout, depth first: a tag, then start and length of the span as variable-length integers (7 bits a byte, low first);
//! then for a text its bytes, unless they are the text under the span, quotes aside; for a list or a map the number of
//! entries, then these, each key before its value. Whatever is not a tree unpacks to `None`.

use super::node::{Node, Value};
use super::reader::DEEPEST;
use crate::source::{FileId, Span, Spanned};

const PLAIN: u8 = 0;
const PLAIN_OWN: u8 = 1;
const QUOTED: u8 = 2;
const QUOTED_OWN: u8 = 3;
const MAP: u8 = 4;
const LIST: u8 = 5;

/// The tree as bytes, given the text of its file; `None` where a part of it was refused.
#[must_use]
pub fn pack(node: &Node, text: &str) -> Option<Vec<u8>> {
    let mut out = Vec::new();
    pack_node(node, text, &mut out)?;
    Some(out)
}

fn pack_node(node: &Node, source: &str, out: &mut Vec<u8>) -> Option<()> {
    let written = &source[node.span.start as usize..node.span.end as usize];
    match &node.value {
        Value::Scalar { text, plain } => pack_text(text, *plain, node.span, written, out),
        Value::Map(map) => {
            out.push(MAP);
            pack_span(node.span, out);
            pack_number(map.len() as u64, out);
            for (key, value) in map {
                let written = &source[key.span.start as usize..key.span.end as usize];
                pack_text(&key.value, true, key.span, written, out);
                pack_node(value, source, out)?;
            }
        }
        Value::List(list) => {
            out.push(LIST);
            pack_span(node.span, out);
            pack_number(list.len() as u64, out);
            for item in list {
                pack_node(item, source, out)?;
            }
        }
        Value::Refused => return None,
    }
    Some(())
}

fn pack_text(text: &str, plain: bool, span: Span, written: &str, out: &mut Vec<u8>) {
    let inner = written.get(1..written.len().saturating_sub(1));
    let verbatim = if plain { written == text } else { inner == Some(text) };
    out.push(match (plain, verbatim) {
        (true, true) => PLAIN,
        (true, false) => PLAIN_OWN,
        (false, true) => QUOTED,
        (false, false) => QUOTED_OWN,
    });
    pack_span(span, out);
    if !verbatim {
        pack_number(text.len() as u64, out);
        out.extend_from_slice(text.as_bytes());
    }
}

fn pack_span(span: Span, out: &mut Vec<u8>) {
    pack_number(u64::from(span.start), out);
    pack_number(u64::from(span.end - span.start), out);
}

fn pack_number(mut number: u64, out: &mut Vec<u8>) {
    while number >= 0x80 {
        out.push((number & 0x7f) as u8 | 0x80);
        number >>= 7;
    }
    out.push(number as u8);
}

/// The tree that was packed from the file `file` with this text.
///
/// Cost: linear, some tens of nanoseconds a node.
#[must_use]
pub fn unpack(bytes: &[u8], text: &str, file: FileId) -> Option<Node> {
    let mut reader = Reader { bytes, at: 0, text, file };
    let node = reader.node(0)?;
    (reader.at == bytes.len()).then_some(node)
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
    text: &'a str,
    file: FileId,
}

impl Reader<'_> {
    fn byte(&mut self) -> Option<u8> {
        let byte = *self.bytes.get(self.at)?;
        self.at += 1;
        Some(byte)
    }

    fn number(&mut self) -> Option<usize> {
        let mut number = 0_u64;
        for shift in (0..63).step_by(7) {
            let byte = self.byte()?;
            number |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return usize::try_from(number).ok();
            }
        }
        None
    }

    fn span(&mut self) -> Option<Span> {
        let start = self.number()?;
        let end = start.checked_add(self.number()?)?;
        Some(Span::new(self.file, start, end))
    }

    fn text(&mut self, tag: u8) -> Option<(Span, String)> {
        let span = self.span()?;
        let (start, end) = (span.start as usize, span.end as usize);
        let text = match tag {
            PLAIN => self.text.get(start..end)?,
            QUOTED => self.text.get(start + 1..end.checked_sub(1)?)?,
            PLAIN_OWN | QUOTED_OWN => {
                let length = self.number()?;
                let bytes = self.bytes.get(self.at..self.at.checked_add(length)?)?;
                self.at += length;
                std::str::from_utf8(bytes).ok()?
            }
            _ => return None,
        };
        Some((span, text.to_owned()))
    }

    fn node(&mut self, depth: usize) -> Option<Node> {
        if depth > DEEPEST {
            return None;
        }
        let tag = self.byte()?;
        match tag {
            MAP => {
                let span = self.span()?;
                let entries = self.number()?;
                // A wrong number must not reserve more than there can be.
                let mut map = Vec::with_capacity(entries.min(self.bytes.len()));
                for _ in 0..entries {
                    let key = self.byte()?;
                    let (at, key) = self.text(key)?;
                    map.push((Spanned::new(key, at), self.node(depth + 1)?));
                }
                Some(Node { span, value: Value::Map(map) })
            }
            LIST => {
                let span = self.span()?;
                let items = self.number()?;
                let mut list = Vec::with_capacity(items.min(self.bytes.len()));
                for _ in 0..items {
                    list.push(self.node(depth + 1)?);
                }
                Some(Node { span, value: Value::List(list) })
            }
            _ => {
                let (span, text) = self.text(tag)?;
                let plain = matches!(tag, PLAIN | PLAIN_OWN);
                Some(Node { span, value: Value::Scalar { text, plain } })
            }
        }
    }
}
