//! What is known of the hay and outlasts power-off: what the lots have taught, and the bale in hand.

use super::{BaleFilter, Lesson, Lots};
use crate::settings::{EstimateSettings, TICKETS, Ticket};
use crate::units::{Mass, Ratio};
use serde::{Deserialize, Serialize};

/// Numbers of an account as it is kept.
pub const ACCOUNT_WORDS: usize = 17;
/// Kept in place of a ticket's number while no bale is known.
const NO_BALE: i32 = -1;

/// The account of hay, carried from bale to bale.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Account {
    pub(super) lots: Lots,
    pub(super) ticket: u8,
    pub(super) bale: Option<BaleFilter>,
    pub(super) lesson: Lesson,
}

impl Account {
    /// The ticket of the bale in hand.
    #[must_use]
    pub fn ticket<'a>(&self, settings: &'a EstimateSettings) -> &'a Ticket {
        settings.ticket(self.ticket)
    }

    /// The factor that a ticket's lot has taught.
    #[must_use]
    pub fn factor(&self, ticket: u8) -> Ratio {
        self.lots.factor(ticket)
    }

    /// Hay left of the bale in hand.
    #[must_use]
    pub fn left(&self) -> Option<Mass> {
        self.bale.map(|bale| bale.left())
    }

    /// Whether the bale in hand may well be all gone: no hay left lies within two deviations.
    #[must_use]
    pub fn may_be_over(&self) -> bool {
        self.bale.is_some_and(|bale| bale.left().halved(1) < bale.left_deviation())
    }

    /// A new bale of a ticket: the old one taught its lot a factor, the new one starts from its own lot's.
    pub(super) fn load(&mut self, settings: &EstimateSettings, ticket: u8) {
        if let Some(factor) = self.lesson.factor(self.ticket(settings)) {
            self.lots.teach(self.ticket, factor);
        }
        self.lesson = Lesson::default();
        self.ticket = settings.known_ticket(ticket);
        let factor = self.lots.factor(self.ticket);
        self.bale = Some(BaleFilter::loaded(settings, self.ticket(settings), factor));
    }

    /// As plain numbers.
    #[must_use]
    pub fn to_words(&self) -> [i32; ACCOUNT_WORDS] {
        let [[f0, n0], [f1, n1], [f2, n2], [f3, n3]] = self.lots.to_words();
        let [b0, b1, b2, b3, b4] = self.bale.unwrap_or_default().to_words();
        let [torn, expected, left] = self.lesson.to_words();
        let ticket = if self.bale.is_some() { i32::from(self.ticket) } else { NO_BALE };
        let lots = [f0, n0, f1, n1, f2, n2, f3, n3];
        let bale = [ticket, b0, b1, b2, b3, b4, torn, expected, left];
        let mut words = [0; ACCOUNT_WORDS];
        let all = lots.into_iter().chain(bale);
        words.iter_mut().zip(all).for_each(|(place, word)| *place = word);
        words
    }

    /// From plain numbers; `None` for any that no account comes to.
    #[must_use]
    pub fn from_words(words: [i32; ACCOUNT_WORDS]) -> Option<Self> {
        let [f0, n0, f1, n1, f2, n2, f3, n3, ticket, bale @ ..] = words;
        let lots = Lots::from_words([[f0, n0], [f1, n1], [f2, n2], [f3, n3]])?;
        if ticket == NO_BALE {
            return (bale == [0; 8]).then_some(Self { lots, ..Self::default() });
        }
        let [b0, b1, b2, b3, b4, torn, expected, left] = bale;
        let ticket = u8::try_from(ticket).ok().filter(|number| usize::from(*number) < TICKETS)?;
        let bale = Some(BaleFilter::from_words([b0, b1, b2, b3, b4])?);
        let lesson = Lesson::from_words([torn, expected, left])?;
        Some(Self { lots, ticket, bale, lesson })
    }
}
