//! The kinds of problem, each with a name that can be read and a page that explains it.

use super::problem::Severity;

macro_rules! codes {
    ($($(#[$doc:meta])* $name:ident = $slug:literal $severity:ident),* $(,)?) => {
        /// A kind of problem.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Code {
            $($(#[$doc])* $name,)*
        }

        impl Code {
            /// Every code.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// The name that is printed and that `explain` takes.
            #[must_use]
            pub const fn slug(self) -> &'static str {
                match self {
                    $(Self::$name => $slug,)*
                }
            }

            /// Whether this kind stops the work.
            #[must_use]
            pub const fn severity(self) -> Severity {
                match self {
                    $(Self::$name => Severity::$severity,)*
                }
            }

            /// The page about it, as Markdown: what it means, why it matters, a bad and a good example.
            #[must_use]
            pub const fn explanation(self) -> &'static str {
                match self {
                    $(Self::$name => include_str!(concat!("pages/", $slug, ".md")),)*
                }
            }
        }
    };
}

codes! {
    // The file as text and as YAML.
    /// The file is larger than a package's file may be.
    FileTooLarge = "file-too-large" Error,
    /// The file could not be read.
    FileUnreadable = "file-unreadable" Error,
    /// The file is not UTF-8.
    NotUtf8 = "not-utf8" Error,
    /// A control character in a file or a text.
    ControlCharacter = "control-character" Error,
    /// A tab where YAML wants spaces.
    Tab = "tab" Error,
    /// The text is not YAML.
    Syntax = "syntax" Error,
    /// More problems than anybody reads.
    TooMany = "too-many" Error,
    /// Nested deeper than a file may be.
    TooDeep = "too-deep" Error,
    /// An anchor or an alias.
    AnchorOrAlias = "anchor-or-alias" Error,
    /// A merge key.
    MergeKey = "merge-key" Error,
    /// A tag.
    Tag = "tag" Error,
    /// More than one document in a file.
    SeveralDocuments = "several-documents" Error,
    /// The same key twice in one map.
    DuplicateKey = "duplicate-key" Error,
    /// A key that is not a plain word.
    ComplexKey = "complex-key" Error,

    // The shape of what is written.
    /// A file without content.
    EmptyFile = "empty-file" Error,
    /// A format that this program does not know.
    UnknownFormat = "unknown-format" Error,
    /// A key that has no meaning at its place.
    UnknownKey = "unknown-key" Error,
    /// A key that has to be there.
    MissingKey = "missing-key" Error,
    /// Keys that exclude one another.
    ConflictingKeys = "conflicting-keys" Error,
    /// A map where a text belongs, and the like.
    WrongShape = "wrong-shape" Error,
    /// A text that YAML reads as a map because it begins with a brace or a sign.
    Unquoted = "unquoted" Error,
    /// Nothing, `null` or `~` where something has to stand.
    NullValue = "null-value" Error,
    /// A word that is none of those allowed here.
    UnknownWord = "unknown-word" Error,
    /// An id with characters that an id may not have.
    BadId = "bad-id" Error,
    /// Not a number, or not one that makes sense here.
    BadNumber = "bad-number" Error,
    /// Not a probability.
    NotAChance = "not-a-chance" Error,
    /// Outcomes whose chances add up to more than one.
    ChancesOverOne = "chances-over-one" Error,

    // Names.
    /// The same id twice.
    DuplicateId = "duplicate-id" Error,
    /// A name that nothing bears.
    DanglingReference = "dangling-reference" Error,
    /// A name of something else than what belongs here.
    WrongKind = "wrong-kind" Error,
    /// An outcome that the finding does not have.
    UnknownOutcome = "unknown-outcome" Error,
    /// A package that cannot be found.
    MissingPackage = "missing-package" Error,
    /// A path that leaves the folder of packages.
    OutsideRoot = "outside-root" Error,
    /// A unit of the job sheet that does not say with which other it belongs.
    MissingRelation = "missing-relation" Error,
    /// The same wire twice on a job sheet, or a wire with both ends at one terminal.
    WireTwice = "wire-twice" Error,
    /// Two supplies on one conductor.
    TwoSupplies = "two-supplies" Error,
    /// The supply on the motor side of a drive.
    SupplyOnMotorSide = "supply-on-motor-side" Error,
    /// A motor conductor on the supply side of a drive.
    MotorOnSupplySide = "motor-on-supply-side" Error,
    /// Supply and motor side of one unit joined.
    SidesJoined = "sides-joined" Error,
    /// Two legs of a row on one conductor.
    LegsJoined = "legs-joined" Error,
    /// A row of which only some legs are connected.
    LegMissing = "leg-missing" Error,
    /// A unit that nothing feeds.
    WithoutFeed = "without-feed" Error,
    /// A row to which something belongs, and nothing is connected.
    NothingConnected = "nothing-connected" Error,
    /// A unit without earth.
    EarthMissing = "earth-missing" Error,
    /// A shield that is not landed at exactly one end.
    ShieldEnds = "shield-ends" Error,
    /// Plus joined to minus.
    PolarityExchanged = "polarity-exchanged" Error,
    /// The two wires of a data pair crossed.
    BusCrossed = "bus-crossed" Error,
    /// A data bus with a branch.
    BusBranches = "bus-branches" Error,
    /// A data bus that closes a ring.
    BusRing = "bus-ring" Error,
    /// End resistors of a data bus missing, too many, or not at its ends.
    BusEnds = "bus-ends" Error,
    /// Direct and alternating voltage on one conductor.
    DirectOnAlternating = "direct-on-alternating" Error,
    /// Terminals on one conductor that carry different things.
    KindsJoined = "kinds-joined" Error,
    /// A contact in a loop that wants the opposite one.
    ContactInWrongLoop = "contact-in-wrong-loop" Error,
    /// A contact of which nobody says when it is closed.
    ContactUnclear = "contact-unclear" Error,
    /// The two wires of a pair on different channels, or two pairs on one.
    PairSplit = "pair-split" Error,
    /// Another number of units than the nameplate says.
    CountDiffers = "count-differs" Error,
    /// More conductors on a terminal than it holds.
    TerminalFull = "terminal-full" Error,
    /// A terminal that its unit does not have.
    UnknownTerminal = "unknown-terminal" Error,
    /// Wires that say something else than the relations of the units.
    AgainstRelations = "against-relations" Error,
    /// Another voltage than a unit is made for.
    VoltsDiffer = "volts-differ" Error,
    /// A placeholder in a text that stands for nothing.
    BadPlaceholder = "bad-placeholder" Error,

    // Numbers and links.
    /// A stage without prior while others have one.
    MissingStage = "missing-stage" Error,
    /// The same link written at both of its ends.
    LinkedTwice = "linked-twice" Error,
    /// A step that energises something and waits for nothing.
    UngatedStep = "ungated-step" Error,
    /// Something that in the end depends on itself.
    Cycle = "cycle" Error,
    /// Fewer than two outcomes.
    TooFewOutcomes = "too-few-outcomes" Error,
    /// A band that cannot be read.
    BadBand = "bad-band" Error,
    /// Two bands that share values.
    BandOverlap = "band-overlap" Error,
    /// Values between two bands that belong to none.
    BandGap = "band-gap" Error,
    /// An expression that cannot be read.
    BadExpression = "bad-expression" Error,
    /// A unit of measure that nobody knows.
    UnknownMeasure = "unknown-measure" Error,
    /// Two units of measure of different dimension.
    WrongDimension = "wrong-dimension" Error,
    /// A hazard without a caution.
    HazardWithoutCaution = "hazard-without-caution" Error,

    // Evidence.
    /// A finding that is stated twice without a fix between.
    StatedTwice = "stated-twice" Error,

    // What only makes a package poor.
    /// A test whose answer moves no cause.
    TellsNothing = "tells-nothing" Warning,
    /// A cause that no finding reveals.
    NeverRevealed = "never-revealed" Warning,
    /// A fix that removes no cause.
    FixForNoCause = "fix-for-no-cause" Warning,
    /// A cause that no fix removes.
    CauseWithoutFix = "cause-without-fix" Warning,
    /// Causes that show exactly the same, and no reason why that may be.
    ToldApartByNothing = "told-apart-by-nothing" Warning,
    /// A text that people would want.
    MissingText = "missing-text" Warning,
    /// A step without minutes, which no plan can use.
    MissingMinutes = "missing-minutes" Warning,
    /// A number without a source.
    MissingSource = "missing-source" Warning,
    /// The same word for two outcomes of a finding.
    WordTwice = "word-twice" Warning,
    /// A source that nothing cites.
    UnusedSource = "unused-source" Warning,
    /// A component of a wider kind that lacks a name which a link wants of that kind.
    KindLacksName = "kind-lacks-name" Warning,
    /// A fault table of a job sheet that no unit uses.
    UnusedTable = "unused-table" Warning,
    /// A wire to something that is labelled like a unit, but is none.
    UnknownDevice = "unknown-device" Warning,
    /// Legs in another order than those that feed them.
    LegOrder = "leg-order" Warning,
    /// A wire on poles that is not marked as sensitive to polarity.
    PolarityUnmarked = "polarity-unmarked" Warning,
    /// A wire whose maker does not go with where its ends are.
    MadeElsewhere = "made-elsewhere" Warning,
    /// A conductor that ends at a terminal strip.
    DeadEnd = "dead-end" Warning,
    /// A file that is not read.
    FileNotRead = "file-not-read" Warning,
}

impl Code {
    /// The code of that name.
    #[must_use]
    pub fn from_slug(slug: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.slug() == slug)
    }
}
