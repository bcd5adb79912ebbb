//! Readings of connections, as events; and what is wrong by them, as something to say.

use super::super::event::{What, WireFound};
use super::super::hear::{WiresHeard, wires};
use super::super::prompt::{Prompt, View};
use super::{Dialogue, Said, Turn};
use crate::wiring::Reading;

impl Dialogue {
    /// Takes a line that says what was found at connections; `false` where it is about something else.
    pub(super) fn wires(&mut self, line: &str, view: &View, at: i64, turn: &mut Turn) -> bool {
        use Prompt::{Closed, Emergencies, Emergency, HandedOver};
        let busy = matches!(view.prompt, Emergencies(_) | Emergency(_) | HandedOver(_) | Closed(_));
        if busy || self.session.model().connections.is_empty() {
            return false;
        }
        // A bare word answers the question of the dialogue's own, where one stands.
        if self.asks() && !line.contains(|c: char| c.is_ascii_digit()) {
            return false;
        }
        let asked = match &view.prompt {
            Prompt::PowerUp(step) => step.walk.as_ref().and_then(|walk| walk.next.as_ref()),
            _ => None,
        };
        let current = asked.map(|asked| asked.connection.number - 1);
        let heard = wires(line, &self.session.model().connections, self.session.wires(), current);
        let found = match heard {
            WiresHeard::Nothing => return false,
            WiresHeard::Unknown(name) => {
                turn.said.push(Said::NoConnection { name, of: self.session.model().connections.len() });
                return true;
            }
            WiresHeard::Found(found) => found,
        };
        self.drop_own();
        let before = self.session.wrong_wires();
        let id = |at: usize| self.session.model().connections[at].id.clone();
        let by = self.by();
        let read = |(at, reading): (usize, Reading)| {
            let found = match reading {
                Reading::Good | Reading::Unread => WireFound::Good,
                Reading::Open => WireFound::Open,
                Reading::Missing => WireFound::Missing,
                Reading::At(other) => WireFound::At(id(other)),
                Reading::Joined(other) => WireFound::Joined(id(other)),
            };
            What::WireRead { wire: id(at), found, by: by.clone() }
        };
        let events: Vec<What> = found.iter().copied().map(read).collect();
        for what in events {
            if !self.take(what, at, turn) {
                return true;
            }
        }
        let numbers = found.iter().map(|(at, _)| at + 1).collect();
        let all_good = found.iter().all(|(_, reading)| *reading == Reading::Good);
        turn.said.push(Said::WiresRead { numbers, all_good });
        let wrong = self.session.wrong_wires().into_iter().filter(|deviation| !before.contains(deviation));
        turn.said.extend(wrong.map(|deviation| Said::WireWrong(Box::new(deviation))));
        true
    }
}
