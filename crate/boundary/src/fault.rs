//! Errors as the page sees them: JS errors whose name says which kind it is.

use js_sys::Error;
use sackwright::finding::Problem;

/// Kind of error; its name is the JS error's `name`.
#[derive(Clone, Copy, Debug)]
pub enum Fault {
    /// The browser gives no WebGL2 context for the canvas.
    NoWebGl,
    /// The graphics driver or its compiler refused something.
    Graphics,
    /// An argument names nothing that is known.
    UnknownName,
    /// An argument is no number that can be worked with.
    BadNumber,
    /// An argument has not the shape that it should have.
    BadShape,
    /// There is no good sheet yet.
    NoSack,
}

impl Fault {
    const fn name(self) -> &'static str {
        match self {
            Self::NoWebGl => "NoWebGL",
            Self::Graphics => "Graphics",
            Self::UnknownName => "UnknownName",
            Self::BadNumber => "BadNumber",
            Self::BadShape => "BadShape",
            Self::NoSack => "NoSack",
        }
    }

    /// The JS error.
    #[must_use]
    pub fn with(self, message: &str) -> Error {
        let error = Error::new(message);
        error.set_name(self.name());
        error
    }
}

/// A file with problems that the page should not have sent.
#[must_use]
pub fn refused(what: &str, problems: &[Problem]) -> Error {
    let keys: Vec<_> = problems.iter().map(|problem| &*problem.message.key).collect();
    Fault::BadShape.with(&format!("{what} has problems: {}", keys.join(", ")))
}
