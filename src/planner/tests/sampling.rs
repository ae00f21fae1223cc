//! Samples: proven instances, and the plans' own sense. The published table is compared in `tests/published_physics.rs`.

use statrs::distribution::{Binomial, DiscreteCDF};

use super::{instances, number, whole};
use crate::sampling::{Level, plan, zero_failures, zero_failures_in_lot};

#[test]
fn proven_samples_are_met() {
    let cases = instances(include_str!("truths/sampling.json"));
    assert_eq!(cases.len(), 32);
    for case in &cases {
        let confidence = || number(&case["confidence"]);
        match case["kind"].as_str().unwrap() {
            "zero failures, large lot" => {
                let found = zero_failures(number(&case["conforming_at_least"]), confidence()).unwrap();
                assert_eq!(found.sample, whole(&case["sample"]), "{case}");
                let at_limit = number(&case["chance_that_it_passes_at_the_limit"]);
                assert!((found.passes_at_limit - at_limit).abs() < 1e-12, "{case}");
            }
            "zero failures, finite lot" => {
                let found =
                    zero_failures_in_lot(whole(&case["lot"]), whole(&case["bad_to_be_caught"]), confidence()).unwrap();
                assert_eq!(found.sample, whole(&case["sample"]), "{case}");
                assert!((found.passes_at_limit - number(&case["chance_of_missing_all"])).abs() < 1e-12, "{case}");
            }
            _ => {
                let level = match case["level"].as_str().unwrap() {
                    "I" => Level::I,
                    "II" => Level::II,
                    _ => Level::III,
                };
                let aql = number(&case["aql"]);
                let found = plan(whole(&case["lot"]), level, aql).unwrap();
                assert_eq!(found.letter.to_string(), case["letter"].as_str().unwrap(), "{case}");
                assert_eq!(found.plan_letter.to_string(), case["letter_of_plan"].as_str().unwrap(), "{case}");
                assert_eq!(
                    (found.sample, found.whole_lot),
                    (whole(&case["sample"]), case["whole_lot"] == true),
                    "{case}"
                );
                assert_eq!(u64::from(found.accept), whole(&case["accept"]), "{case}");
                assert_eq!(u64::from(found.reject), whole(&case["reject"]), "{case}");
                if let Some(accepted) = case["accepted_at_aql"].as_f64() {
                    let taken = Binomial::new(aql / 100.0, found.sample).unwrap().cdf(u64::from(found.accept));
                    assert!((taken - accepted).abs() < 1e-4, "{case} {taken}");
                }
            }
        }
    }
}

#[test]
fn a_tie_is_enough_and_a_lot_is_never_outrun() {
    assert_eq!(zero_failures(0.5, 0.5).unwrap().sample, 1);
    assert_eq!(zero_failures_in_lot(10, 1, 0.9).unwrap().sample, 9);
    assert_eq!(zero_failures_in_lot(10, 1, 1.0).unwrap().sample, 10);
    assert!(zero_failures_in_lot(10, 0, 0.9).is_err() && zero_failures_in_lot(10, 11, 0.9).is_err());
    assert!(zero_failures(1.0, 0.9).is_err() && zero_failures(0.9, 1.0).is_err());
    for lot in [20_u64, 200, 5_000] {
        let samples: Vec<u64> = (1..=lot / 2).map(|bad| zero_failures_in_lot(lot, bad, 0.95).unwrap().sample).collect();
        assert!(samples.windows(2).all(|w| w[0] >= w[1]), "more bad ones are caught by fewer");
    }
}
