//! The one bisection of whole steps: how far along a dial, a drift or a tolerance something still does.

/// Closes in on where it changes between a step that does and one that does not, until they are neighbours.
///
/// The steps may lie either way round. Those in between need not all be of one sort: what comes back are always a step
/// that does and one beside it, towards `bad`, that does not, or is `bad` itself. `may_go_on` is asked before each
/// step; where it says no, the two are what is known so far. At most 64 steps are tried.
pub(super) fn bisect(
    good: i64,
    bad: i64,
    mut may_go_on: impl FnMut() -> bool,
    mut does: impl FnMut(i64) -> bool,
) -> (i64, i64) {
    let (mut good, mut bad) = (i128::from(good), i128::from(bad));
    while (bad - good).abs() > 1 && may_go_on() {
        let middle = good + (bad - good) / 2;
        // It lies between two numbers of 64 bits.
        let step = i64::try_from(middle).unwrap_or(i64::MAX);
        if does(step) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    let whole = |step: i128| i64::try_from(step).unwrap_or(i64::MAX);
    (whole(good), whole(bad))
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::bisect;

    #[test]
    fn it_ends_where_it_changes_whichever_way_round() {
        for edge in -20..20_i64 {
            assert_eq!(
                bisect(-20, 20, || true, |at| at < edge),
                (edge.max(-19) - 1, edge.max(-19))
            );
            assert_eq!(
                bisect(20, -20, || true, |at| at > edge),
                (edge.min(19) + 1, edge.min(19))
            );
        }
    }

    #[test]
    fn what_comes_back_was_tried_where_it_changes_more_than_once() {
        let does = |at: i64| at % 7 < 4;
        for bad in [4, 5, 6, 11, 102, 1_000_000_006] {
            let (good, beside) = bisect(0, bad, || true, does);
            assert!(
                does(good) && !does(beside) && beside == good + 1,
                "{bad}: {good} {beside}"
            );
        }
    }

    #[test]
    fn neighbours_are_left_and_the_whole_range_takes_64_steps() {
        assert_eq!(
            bisect(3, 4, || true, |_| panic!("nothing lies between")),
            (3, 4)
        );
        let mut steps = 0;
        let found = bisect(
            i64::MIN,
            i64::MAX,
            || true,
            |at| {
                steps += 1;
                at < 12
            },
        );
        assert_eq!((found, steps <= 64), ((11, 12), true));
    }

    #[test]
    fn it_stops_when_told_with_what_is_known() {
        let mut left = 3;
        let may_go_on = || {
            left -= 1;
            left >= 0
        };
        assert_eq!(bisect(0, 1024, may_go_on, |at| at < 1), (0, 128));
    }
}
