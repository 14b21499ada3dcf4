//! The random sheets that other property tests rely on are valid, and survive being written and read.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use proptest::prelude::*;
use sackwright::sheet::{Sheet, read};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn a_random_sheet_is_valid_and_reads_back_as_it_was(file in support::valid_sheet()) {
        let sheet = Sheet::new(file).expect("valid");
        let again = read(&sheet.to_json()).expect("readable");
        prop_assert_eq!(again, sheet);
    }
}
