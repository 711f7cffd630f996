//! Induction motors: speed, slip and current.

use super::computation::{Computation, Input, no_remark, plain, prefixed};
use super::given::Given;
use crate::quantity::{Base, Prefix};

const FREQUENCY: Input = Input::new("frequency", "of the supply", plain(Base::Hertz))
    .between(1.0, 1000.0)
    .nominal();

const POLES: Input = Input::new(
    "poles",
    "the number of poles, not of pairs",
    plain(Base::Count),
)
.between(2.0, 100.0)
.nominal();

const fn part(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, plain(Base::Ratio))
        .between(0.01, 1.0)
        .nominal()
}

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "synchronous_speed",
        what: "speed of the field",
        inputs: &[FREQUENCY, POLES],
        choices: &[],
        result: plain(Base::RevolutionPerMinute),
        decimals: 0,
        source: "120 f / p, IEC 60034-1",
        formula: |given| Ok(field_speed(given)),
        remark: no_remark,
    },
    Computation {
        name: "motor_slip",
        what: "how far the rotor falls behind the field, percent",
        inputs: &[
            Input::new("speed", "of the shaft", plain(Base::RevolutionPerMinute)).positive(),
            FREQUENCY,
            POLES,
        ],
        choices: &[],
        result: plain(Base::Percent),
        decimals: 2,
        source: "(ns - n) / ns, IEC 60034-1",
        formula: |given| {
            let field = field_speed(given);
            Ok(100.0 * (field - given.get("speed")) / field)
        },
        remark: |slip| (slip < 0.0).then_some("faster than the field: check the poles"),
    },
    Computation {
        name: "motor_current",
        what: "line current of a three-phase motor at its rated power",
        inputs: &[
            Input::new("power", "at the shaft", prefixed(Prefix::Kilo, Base::Watt))
                .positive()
                .nominal(),
            Input::new("voltage", "between lines", plain(Base::Volt))
                .positive()
                .nominal(),
            part("power_factor", "of the rating plate"),
            part("efficiency", "of the rating plate"),
        ],
        choices: &[],
        result: plain(Base::Ampere),
        decimals: 2,
        source: "P / (sqrt 3 U cos phi eta), three-phase power by definition",
        formula: |given| {
            let apparent =
                1000.0 * given.get("power") / given.get("power_factor") / given.get("efficiency");
            Ok(apparent / (libm::sqrt(3.0) * given.get("voltage")))
        },
        remark: no_remark,
    },
];

fn field_speed(given: &Given) -> f64 {
    120.0 * given.get("frequency") / given.get("poles")
}
