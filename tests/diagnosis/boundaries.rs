//! Every boundary from both sides.

use readback::diagnosis::{Ask, Numbers, Pattern, Series, Verdict};
use readback::procedure::BehaviorKind::{self, *};
use readback::quantity::{Amount, Base, Decimal, Reading, Unit};

use super::pump::{Pump, counts};

/// Values, and what they are. The tolerance at a level of 245 is 7.35, the zero band is 9.
const SERIES: [(&[i64], Option<BehaviorKind>); 24] = [
    // Four readings are too few, five are enough.
    (&[245, 244, 246, 245], None),
    (&[245, 244, 246, 245, 245], Some(Steady)),
    // The zero band.
    (&[9, 8, 9, 9, 8], Some(NearZero)),
    (&[10, 10, 10, 10, 10], Some(Steady)),
    (&[0, 0, 0, 0, 0], Some(NearZero)),
    // The tolerance of a level.
    (&[245, 252, 245, 238, 245, 245], Some(Steady)),
    (&[245, 253, 245, 237, 245, 253], None),
    // Swings larger than twice the tolerance.
    (&[245, 260, 245, 260, 245, 260, 245], Some(Unsteady)),
    (&[245, 259, 245, 259, 245, 259, 245], None),
    // Comes to rest, and does not yet.
    (&[100, 180, 220, 238, 245, 246, 245, 246], Some(Settles)),
    (&[100, 130, 160, 190, 220, 250, 280, 310], Some(Rising)),
    (
        &[640, 500, 400, 320, 270, 250, 246, 245, 245],
        Some(Settles),
    ),
    (&[640, 590, 540, 490, 440, 390, 340, 290], Some(Falling)),
    // A change of more than twice the tolerance.
    (&[268, 264, 260, 256, 252, 248, 244, 240], Some(Falling)),
    (&[249, 248, 247, 246, 245, 244, 243, 242], Some(Steady)),
    // A climb before a fall is at most a third of the readings.
    (&[300, 640, 600, 560, 520, 480, 440, 400], Some(Falling)),
    (&[300, 420, 530, 640, 600, 560, 520, 480], None),
    // Swings die down, or do not.
    (&[0, 336, 212, 258, 240, 247, 245, 245], Some(Settles)),
    (&[300, 200, 300, 200, 300, 246, 245, 245], Some(Unsteady)),
    // One value misheard is not in the way.
    (&[245, 244, 24, 246, 245], Some(Steady)),
    (&[250, 250, 215, 250, 250], Some(Steady)),
    // A value that nothing explains is asked about, until enough stands around it.
    (&[245, 244, 333, 246, 245], None),
    (&[245, 244, 246, 245, 333, 246, 245, 244, 245], Some(Steady)),
    (&[640, 600, 56, 520, 480, 440], Some(Falling)),
];

#[test]
fn each_side_of_every_boundary() {
    let pump = Pump::new();
    for (values, expected) in SERIES {
        let found = pump.judge(&counts(values)).behavior;
        assert_eq!(found.kind(), expected, "{values:?}: {found:?}");
    }
}

#[test]
fn a_doubtful_value_is_asked_about() {
    let series = counts(&[245, 244, 333, 246, 245]);
    let found = Pump::new().judge(&series);
    let Verdict::Undetermined(Ask::Confirm(odd)) = &found.verdict else {
        panic!("{found:?}");
    };
    assert_eq!((odd.reading, odd.value), (2, Decimal::from(333)));
    assert_eq!(
        found.ask(&Numbers::from_one(&series)).unwrap(),
        "reading 3 was 333 count, the others are near 245: was it heard right?"
    );
}

#[test]
fn a_misheard_value_is_offered_for_correction() {
    let found = Pump::new().judge(&counts(&[250, 250, 215, 250, 250]));
    let [odd] = found.behavior.set_aside.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!((odd.reading, odd.value), (2, Decimal::from(215)));
    assert_eq!(odd.expected, Decimal::from(250));
}

/// Level against the table: healthy from 220 to 270, seized above 500. The nearest other finding may
/// be one for an unsteady series: then both the swings and the level would have to differ.
#[test]
fn levels_at_both_sides_of_a_finding() {
    let cases = [
        (219, None, Some(("healthy", 1))),
        (220, Some("healthy"), Some(("inlet", 20))),
        (270, Some("healthy"), Some(("outlet", 16))),
        (271, None, Some(("healthy", 1))),
        (500, None, Some(("seized", 1))),
        (501, Some("seized"), Some(("outlet", 30))),
    ];
    let pump = Pump::new();
    for (level, expected, nearest) in cases {
        let found = pump.judge(&counts(&[level; 6]));
        let finding = found.finding().map(|finding| finding.id.as_str());
        assert_eq!(finding, expected, "at {level}");
        let near = match &found.verdict {
            Verdict::Finding(finding) => finding.runner_up.as_ref(),
            Verdict::Undetermined(Ask::NoFinding { nearest }) => nearest.as_ref(),
            _ => None,
        };
        let near = near.map(|near| (near.id.as_str(), near.margin));
        let nearest = nearest.map(|(id, margin)| (id, Decimal::from(margin)));
        assert_eq!(near, nearest, "nearest at {level}");
    }
}

#[test]
fn ranges_count_as_swings_and_blanks_are_asked_about() {
    let unit = Unit::from(Base::Count);
    let between = Amount::Between(Decimal::from(300), Decimal::from(420));
    let mut hunting = Series::new(unit);
    let mut blank = Series::new(unit);
    for k in 0..6 {
        let amount = if k % 2 == 0 {
            between
        } else {
            Amount::Exact(Decimal::from(310))
        };
        hunting.give(k * 3000, Reading { amount, unit }).unwrap();
        let amount = if k % 2 == 0 {
            Amount::OverRange
        } else {
            amount
        };
        blank.give(k * 3000, Reading { amount, unit }).unwrap();
    }
    let pump = Pump::new();
    let found = pump.judge(&hunting);
    assert_eq!(
        found.behavior.pattern,
        Pattern::Known(Unsteady),
        "{found:?}"
    );
    let ends = (Decimal::from(300), Decimal::from(420));
    assert_eq!(found.behavior.between, Some(ends));
    let found = pump.judge(&blank);
    let ask = Ask::Numbers {
        over_range: 3,
        blank: 0,
    };
    assert_eq!(found.verdict, Verdict::Undetermined(ask));
}
