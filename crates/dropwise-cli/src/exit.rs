//! How a run ended, as the shell is told.

/// How a run ended. The numbers are part of the command's interface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// All that was asked for is done.
    Done,
    /// A fault of our own or of the system: a file that cannot be written, threads that cannot be started.
    Failure,
    /// Something is wrong with the arguments or with a file that was given. Nothing was done.
    BadInput,
    /// There is a plan, but some parts that must be made lie on no sheet.
    NotAllPlaced,
    /// The shop checks found something that cannot be made so.
    CannotBeMade,
    /// Interrupted twice.
    Interrupted,
}

impl Exit {
    /// All of them, by number.
    pub const ALL: [Self; 6] =
        [Self::Done, Self::Failure, Self::BadInput, Self::NotAllPlaced, Self::CannotBeMade, Self::Interrupted];

    /// The number.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Failure => 1,
            Self::BadInput => 2,
            Self::NotAllPlaced => 3,
            Self::CannotBeMade => 4,
            // As shells report a process that ended by SIGINT: 128 and the number of the signal.
            Self::Interrupted => 130,
        }
    }

    /// What it means, for the help.
    #[must_use]
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Done => "done; fillers that found no room do not count",
            Self::Failure => "a fault of our own, or a file that could not be written",
            Self::BadInput => "the arguments or a file given are wrong; nothing was made",
            Self::NotAllPlaced => "a plan was made, but not every part that must be made is on it",
            Self::CannotBeMade => "the shop checks say of a part that it cannot be made so",
            Self::Interrupted => "interrupted twice and ended at once",
        }
    }
}

impl From<Exit> for std::process::ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}
