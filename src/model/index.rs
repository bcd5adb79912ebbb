//! Dense indices: small typed numbers that stand for a cause, a finding, a unit …
//!
//! An index is only meaningful for the [`Network`](super::network::Network) or [`Model`](super::Model) that gave it.

macro_rules! dense_index {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(pub u32);

        impl $name {
            /// The position in a slice.
            #[inline]
            #[must_use]
            pub const fn at(self) -> usize {
                self.0 as usize
            }

            /// The index that stands for position `at`.
            ///
            /// # Panics
            /// When `at` does not fit 32 bits, which the limits on a package exclude.
            #[inline]
            #[must_use]
            pub fn new(at: usize) -> Self {
                Self(u32::try_from(at).expect("fewer than 2^32 items"))
            }
        }
    )*};
}

dense_index! {
    /// A cause: something wrong that can be put right.
    CauseIx,
    /// A condition: a state that causes bring about.
    ConditionIx,
    /// A finding: what a test or a report can show.
    FindingIx,
    /// A test: an act of looking, asking or reading.
    TestIx,
    /// A fix: an act that removes causes.
    FixIx,
    /// One piece of equipment.
    UnitIx,
    /// A competence that a person may have.
    CompetenceIx,
    /// An instrument that a person may have at hand.
    InstrumentIx,
    /// A place where a step is done.
    PlaceIx,
    /// A work state, such as energised or locked-out.
    WorkStateIx,
    /// An enclosure whose door a step may need open.
    EnclosureIx,
    /// A hazard with its caution.
    HazardIx,
}
