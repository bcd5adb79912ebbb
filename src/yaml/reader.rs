//! From the parser's events to the tree.
//!
//! The events of `saphyr-parser` are taken one by one, never by its own recursive loader, so that depth is bounded by
//! [`DEEPEST`] and not by the stack. Its positions are lines and columns in characters; bytes come from the line table
//! of the source file. Cost: linear in the text.

use std::collections::HashSet;

use saphyr_parser::{Event, Parser, ScalarStyle};

use super::characters;
use super::node::{Node, Value};
use crate::diagnostic::{Code, Diagnostic, ENOUGH, too_many};
use crate::source::{FileId, SourceFile, Span, Spanned};

/// The deepest nesting accepted, in levels.
pub const DEEPEST: usize = 128;

pub(super) fn refuse_alias(span: Span) -> Diagnostic {
    Diagnostic::new(Code::AnchorOrAlias, span, "anchors and aliases cannot be used")
        .why("a file of a package says each thing where it stands")
        .help("write it out; a text that begins with `&` or `*` has to stand in quotes")
}

/// Why reading stopped.
pub(super) enum Stop {
    /// The text is not YAML at that line and column (from 0), in the parser's words.
    Syntax(usize, usize, String),
    /// Something that ends the reading.
    Refused(Box<Diagnostic>),
}

/// A map or list that is still open.
struct Open {
    node: Node,
    /// The key that waits for its value.
    key: Option<Spanned<String>>,
    /// Keys seen, once there are enough of them to look up.
    seen: HashSet<String>,
    /// The key's value is thrown away, the key having been refused.
    skip: bool,
    flow: bool,
    /// It is, or stands in, a key that has been refused.
    in_key: bool,
}

pub(super) struct Reader<'s> {
    file: FileId,
    source: &'s SourceFile,
    /// What was found on the way.
    pub(super) problems: Vec<Diagnostic>,
    stack: Vec<Open>,
    /// The tree, once it is read.
    pub(super) root: Option<Node>,
    /// Line, column and byte of the event before.
    reached: (usize, usize, usize),
    /// What was blanked out to read on: it has its diagnostic.
    holes: &'s [std::ops::Range<usize>],
}

impl<'s> Reader<'s> {
    pub(super) fn new(file: FileId, source: &'s SourceFile, holes: &'s [std::ops::Range<usize>]) -> Self {
        Self { file, source, problems: Vec::new(), stack: Vec::new(), root: None, reached: (0, 0, 0), holes }
    }

    /// Reads all of `text`, which is that of the source but for what was blanked out.
    pub(super) fn run(&mut self, text: &str) -> Result<(), Stop> {
        let mut documents = 0;
        for event in Parser::new_from_str(text) {
            let (event, marks) = event.map_err(|error| {
                Stop::Syntax(error.marker().line(), error.marker().col(), error.info().to_owned())
            })?;
            if self.problems.len() >= ENOUGH {
                let at = self.problems.last().and_then(|problem| problem.primary.as_ref());
                let span = at.map_or(Span::top_of(self.file), |label| label.span);
                return Err(Stop::Refused(Box::new(too_many(span))));
            }
            let start = self.byte(marks.start.line(), marks.start.col());
            self.reached = (marks.start.line(), marks.start.col(), start);
            let end = self.byte(marks.end.line(), marks.end.col()).max(start);
            let span = Span::new(self.file, start, end);
            match event {
                Event::DocumentStart(_) => {
                    documents += 1;
                    if documents > 1 {
                        return Err(Stop::Refused(Box::new(several(span))));
                    }
                }
                Event::Alias(_) => {
                    self.problems.push(refuse_alias(self.clip(span)));
                    self.put(Node { span, value: Value::Refused });
                }
                Event::Scalar(text, style, anchor, tag) => {
                    let span = self.clip_scalar(span, style);
                    let refused = self.decorations(span, anchor, tag.is_some());
                    let escaped = characters::escaped(span, &text);
                    let mended = self.holes.iter().any(|hole| hole.contains(&(span.start as usize)));
                    let fine = !refused && !mended && escaped.is_none();
                    self.problems.extend(escaped);
                    let text = text.into_owned();
                    let plain = style == ScalarStyle::Plain;
                    let value = if fine { Value::Scalar { text, plain } } else { Value::Refused };
                    self.put(Node { span, value });
                }
                Event::SequenceStart(anchor, tag) => {
                    self.decorations(span, anchor, tag.is_some());
                    self.open(text, span, Value::List(Vec::new()))?;
                }
                Event::MappingStart(anchor, tag) => {
                    self.decorations(span, anchor, tag.is_some());
                    self.open(text, span, Value::Map(Vec::new()))?;
                }
                Event::SequenceEnd | Event::MappingEnd => self.close(span),
                Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => {}
            }
        }
        Ok(())
    }

    /// The byte of a position, walked from the one before where it lies on the same line: lines may be long.
    fn byte(&self, line: usize, column: usize) -> usize {
        let (on, from, at) = self.reached;
        if line != on || column < from {
            return self.source.byte_at(line, column);
        }
        let rest = &self.source.text()[at..];
        let more = column - from;
        match rest.as_bytes().get(..more) {
            Some(between) if between.is_ascii() => at + more,
            _ => at + rest.char_indices().nth(more).map_or(rest.len(), |(at, _)| at),
        }
    }

    /// Reports an anchor and a tag; whether there was one.
    fn decorations(&mut self, span: Span, anchor: usize, tag: bool) -> bool {
        if anchor > 0 {
            self.problems.push(refuse_alias(self.clip(span)));
        }
        if tag {
            let problem = Diagnostic::new(Code::Tag, self.clip(span), "tags cannot be used")
                .why("what a value is follows from where it stands")
                .help("leave the tag out; a text that begins with `!` has to stand in quotes");
            self.problems.push(problem);
        }
        anchor > 0 || tag
    }

    fn open(&mut self, text: &str, span: Span, value: Value) -> Result<(), Stop> {
        if self.stack.len() >= DEEPEST {
            return Err(Stop::Refused(Box::new(too_deep(self.clip(span)))));
        }
        let in_key = self.stack.last().is_some_and(|open| open.in_key);
        let is_key = self.wants_key();
        // Once is enough, however many stand in one another.
        if is_key && !in_key {
            self.problems.push(complex_key(self.clip(span)));
        }
        let flow = matches!(text.as_bytes().get(span.start as usize), Some(b'{' | b'['));
        let node = Node { span, value };
        self.stack.push(Open {
            node,
            key: None,
            seen: HashSet::new(),
            skip: false,
            flow,
            in_key: in_key || is_key,
        });
        Ok(())
    }

    fn close(&mut self, span: Span) {
        let Some(Open { mut node, flow, .. }) = self.stack.pop() else { return };
        let (first, last) = match &node.value {
            Value::Map(map) => {
                (map.first().map(|(key, _)| key.span), map.last().map(|(key, value)| key.span.to(value.span)))
            }
            Value::List(list) => (None, list.last().map(|item| item.span)),
            Value::Scalar { .. } | Value::Refused => (None, None),
        };
        if flow {
            node.span = node.span.to(span);
        } else {
            node.span.start = first.map_or(node.span.start, |first| first.start);
            node.span.end = last.map_or(node.span.end, |last| last.end).max(node.span.start);
        }
        self.put(node);
    }

    /// Whether the next node is a key.
    fn wants_key(&self) -> bool {
        self.stack
            .last()
            .is_some_and(|open| matches!(open.node.value, Value::Map(_)) && open.key.is_none() && !open.skip)
    }

    /// Puts a finished node where it belongs.
    fn put(&mut self, node: Node) {
        if self.wants_key() {
            return self.put_key(node);
        }
        let Some(open) = self.stack.last_mut() else {
            self.root = Some(node);
            return;
        };
        match &mut open.node.value {
            Value::List(list) => list.push(node),
            Value::Map(map) => {
                if let Some(key) = open.key.take() {
                    map.push((key, node));
                }
                open.skip = false;
            }
            Value::Scalar { .. } | Value::Refused => {}
        }
    }

    fn put_key(&mut self, node: Node) {
        let Some(open) = self.stack.last_mut() else { return };
        let Value::Map(map) = &open.node.value else { return };
        open.skip = true;
        let text = match node.value {
            Value::Scalar { text, .. } => text,
            Value::Refused => return,
            // Reported when it was opened.
            Value::Map(_) | Value::List(_) => return,
        };
        if text == "<<" {
            let problem = Diagnostic::new(Code::MergeKey, node.span, "merge keys cannot be used")
                .why("a file of a package says each thing where it stands")
                .help("write the keys out");
            self.problems.push(problem);
            return;
        }
        // Few keys are quicker compared one by one.
        const MANY: usize = 12;
        let twice = if map.len() < MANY {
            map.iter().any(|(key, _)| key.value == text)
        } else {
            if open.seen.is_empty() {
                open.seen.extend(map.iter().map(|(key, _)| key.value.clone()));
            }
            !open.seen.insert(text.clone())
        };
        if twice {
            let first = map.iter().find(|(key, _)| key.value == text).map_or(node.span, |(key, _)| key.span);
            let problem =
                Diagnostic::new(Code::DuplicateKey, node.span, format!("the key `{text}` stands here twice"))
                    .label("again")
                    .also_at(first, "first written here")
                    .help("keep one of the two");
            self.problems.push(problem);
            return;
        }
        open.key = Some(Spanned::new(text, node.span));
        open.skip = false;
    }

    /// A span cut to its first line, without trailing blanks: for things whose end the parser does not know.
    fn clip(&self, span: Span) -> Span {
        let text = self.source.text();
        let rest = &text[span.start as usize..];
        let line = rest.find('\n').map_or(rest, |at| &rest[..at]);
        let end = (span.end as usize).clamp(span.start as usize, span.start as usize + line.len());
        let end = if end == span.start as usize {
            end + line.chars().next().map_or(0, char::len_utf8)
        } else {
            end
        };
        Span::new(span.file, span.start as usize, end)
    }

    /// The span of a scalar without what the parser counts in beyond it: blanks and comments.
    fn clip_scalar(&self, span: Span, style: ScalarStyle) -> Span {
        let (start, end) = (span.start as usize, span.end as usize);
        let written = &self.source.text()[start..end];
        let length = match style {
            ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => quoted_length(written),
            ScalarStyle::Plain | ScalarStyle::Literal | ScalarStyle::Folded => written.trim_end().len(),
        };
        Span::new(span.file, start, start + length)
    }
}

/// The length of a quoted text with its quotes.
fn quoted_length(written: &str) -> usize {
    let bytes = written.as_bytes();
    let Some(&quote) = bytes.first() else { return 0 };
    let mut at = 1;
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'\\' if quote == b'"' => at += 1,
            b'\'' if quote == b'\'' && bytes.get(at + 1) == Some(&b'\'') => at += 1,
            _ if byte == quote => return at + 1,
            _ => {}
        }
        at += 1;
    }
    written.trim_end().len()
}

fn several(span: Span) -> Diagnostic {
    Diagnostic::new(Code::SeveralDocuments, span, "a second document begins here")
        .why("a file holds one component or one package")
        .help("put it into a file of its own")
}

pub(super) fn too_deep(span: Span) -> Diagnostic {
    Diagnostic::new(Code::TooDeep, span, "nested too deep")
        .why(format!("a file may be {DEEPEST} levels deep at most"))
        .help("nothing in a package needs more than ten levels: check the brackets and the indentation")
}

fn complex_key(span: Span) -> Diagnostic {
    Diagnostic::new(Code::ComplexKey, span, "a key has to be a word")
        .help("write `key: value`; a text that begins with a bracket or a brace has to stand in quotes")
}
