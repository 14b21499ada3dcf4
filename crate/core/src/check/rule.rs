//! What a rule is, and what it gives back.

use crate::check::context::Context;
use crate::finding::{Arg, Certainty, Cure, Finding, Message, Place, Severity, SilenceKind, Silent, Topic};
use crate::units::Quantity;

/// A rule: one small file has its formula, its source, how sure that is, and the function that judges.
pub(super) struct Rule {
    /// Its name in files; words stand under `rule`.
    pub name: &'static str,
    /// What it is about.
    pub topic: Topic,
    /// Key of the words that say where its limits come from.
    pub source: &'static str,
    /// How sure its limits are, where a judgement does not say otherwise.
    pub certainty: Certainty,
    /// What it says of a sack, at each place where it applies; or why it says nothing.
    pub check: fn(&Context) -> Outcome,
}

/// What comes of holding a sack against a rule.
pub(super) type Outcome = Result<Vec<Judgement>, Silence>;

/// Why a rule says nothing of a sack.
pub(super) struct Silence {
    kind: SilenceKind,
    message: Message,
}

impl Silence {
    /// The sack has nothing that the rule is about; the key says why.
    pub fn not_applicable(message: &'static str) -> Self {
        Self { kind: SilenceKind::NotApplicable, message: Message::new(message) }
    }

    /// An input is missing; the key says which, and where it would stand.
    pub fn lacks(message: &'static str) -> Self {
        Self { kind: SilenceKind::Lacks, message: Message::new(message) }
    }

    /// The same with the rule that is silent.
    pub fn of(self, rule: &Rule) -> Silent {
        Silent { rule: rule.name, topic: rule.topic, kind: self.kind, message: self.message }
    }
}

/// What one rule says at one place, with the remedies that its formula gives, the preferred one first.
pub(super) struct Judgement {
    place: Place,
    severity: Severity,
    value: Option<Quantity>,
    limit: Option<Quantity>,
    source: Option<&'static str>,
    certainty: Option<Certainty>,
    message: Message,
    remedies: Vec<Remedy>,
}

/// What might make a finding good.
#[derive(Clone)]
pub(super) enum Remedy {
    /// To be tried: only if the rule holds with it, it is a cure.
    Tried(Cure),
    /// Computed with the filled shape: without computing it anew nobody can try, and nobody need.
    Computed(Cure),
}

impl Remedy {
    /// The cure that it may be.
    pub const fn cure(&self) -> &Cure {
        match self {
            Self::Tried(cure) | Self::Computed(cure) => cure,
        }
    }
}

impl Judgement {
    /// A judgement without figures yet.
    pub fn new(place: Place, severity: Severity, message: &'static str) -> Self {
        Self {
            place,
            severity,
            value: None,
            limit: None,
            source: None,
            certainty: None,
            message: Message::new(message),
            remedies: Vec::new(),
        }
    }

    /// What is only advised: good where it holds, else worth a look; the message for either.
    pub fn advised(place: Place, holds: bool, [good, look]: [&'static str; 2]) -> Self {
        if holds { Self::new(place, Severity::Good, good) } else { Self::new(place, Severity::Look, look) }
    }

    /// The sack's value and the limit that it was compared with; they fill {value} and {limit} too.
    pub fn compared(self, value: Quantity, limit: Quantity) -> Self {
        self.weighed(value, limit).with("value", value).with("limit", limit)
    }

    /// The sack's value and the limit that it was compared with, where the message says them in another way.
    pub const fn weighed(mut self, value: Quantity, limit: Quantity) -> Self {
        self.value = Some(value);
        self.limit = Some(limit);
        self
    }

    /// One more placeholder of the message, where there is something to fill it.
    pub fn with_some(self, name: &'static str, arg: Option<impl Into<Arg>>) -> Self {
        match arg {
            Some(arg) => self.with(name, arg),
            None => self,
        }
    }

    /// One more placeholder of the message.
    pub fn with(mut self, name: &'static str, arg: impl Into<Arg>) -> Self {
        self.message = self.message.with(name, arg);
        self
    }

    /// A certainty other than the rule's.
    pub const fn certain(mut self, certainty: Certainty) -> Self {
        self.certainty = Some(certainty);
        self
    }

    /// What stops a sack follows from the folding or stands on a card; the rest is as sure as the rule.
    pub fn stops_for_sure(self) -> Self {
        if self.severity == Severity::Stop { self.certain(Certainty::Sure) } else { self }
    }

    /// One more remedy, to be tried; asked for only where something is to be cured.
    pub fn remedy(mut self, remedy: impl FnOnce() -> Cure) -> Self {
        if self.severity != Severity::Good {
            self.remedies.push(Remedy::Tried(remedy()));
        }
        self
    }

    /// One more remedy, to be tried, where there is one.
    pub fn remedy_if_any(mut self, remedy: impl FnOnce() -> Option<Cure>) -> Self {
        if self.severity != Severity::Good {
            self.remedies.extend(remedy().map(Remedy::Tried));
        }
        self
    }

    /// One more remedy, computed with the filled shape.
    pub fn computed(mut self, remedy: Option<Cure>) -> Self {
        self.remedies.extend(remedy.map(Remedy::Computed));
        self
    }

    /// The finding, its cure still open, and what might cure it.
    pub fn of(self, rule: &Rule) -> (Finding, Vec<Remedy>) {
        let finding = Finding {
            rule: rule.name,
            topic: rule.topic,
            severity: self.severity,
            place: self.place,
            value: self.value,
            limit: self.limit,
            source: self.source.unwrap_or(rule.source),
            certainty: self.certainty.unwrap_or(rule.certainty),
            message: self.message,
            cure: None,
        };
        (finding, self.remedies)
    }
}
