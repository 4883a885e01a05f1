//! The estimate: what the firm asks for its work, and what the bid says beside the price.
//!
//! No figure here has a default other than nothing or unknown: hours, rates and percentages are the firm's own.

use super::Id;
use crate::units::{Hours, Length, Money, Rate};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// What a bid is reckoned with beside the parts' prices.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Estimate {
    /// Whom the bid is for, in one line.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub client: String,
    /// What stands before an amount of money.
    #[serde(skip_serializing_if = "is_dollar")]
    pub currency: String,
    /// What an hour of work costs, all burdens in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hourly_rate: Option<Money>,
    /// Hours by task.
    #[serde(skip_serializing_if = "LaborUnits::is_empty")]
    pub hours: LaborUnits,
    /// What the firm's running costs add to the cost of the job.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overhead_percent: Option<Rate>,
    /// What is left of the price before tax when all costs are paid, in percent of that price; below 100.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin_percent: Option<Rate>,
    /// The sales tax; what it falls on is the state's to say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tax_percent: Option<Rate>,
    /// What the tax falls on.
    #[serde(skip_serializing_if = "TaxOn::is_default")]
    pub tax_on: TaxOn,
    /// What is broken, lost or cut wrong, by kind of part.
    #[serde(skip_serializing_if = "Waste::is_none")]
    pub waste: Waste,
    /// The ceiling box that is bought where a ceiling box names none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ceiling_box: Option<Id>,
    /// Reels that need not be bought: opened ones, or new ones that are there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub reels_on_hand: Vec<ReelOnHand>,
    /// What the plan of cuts does with home runs that share a route.
    #[serde(skip_serializing_if = "SharedRoute::is_default")]
    pub shared_route: SharedRoute,
    /// Sums in the price for what is still to be chosen.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub allowances: Vec<Allowance>,
    /// Work that others do, a line each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_others: Vec<String>,
    /// What the price does not hold, a line each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub exclusions: Vec<String>,
    /// The last day on which the bid may be taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valid_until: Option<Date>,
    /// How long it may be taken, in days from the date on the sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valid_days: Option<u16>,
}

impl Default for Estimate {
    fn default() -> Self {
        Self {
            client: String::new(),
            currency: "$".into(),
            hourly_rate: None,
            hours: LaborUnits::default(),
            overhead_percent: None,
            margin_percent: None,
            tax_percent: None,
            tax_on: TaxOn::default(),
            waste: Waste::default(),
            ceiling_box: None,
            reels_on_hand: Vec::new(),
            shared_route: SharedRoute::default(),
            allowances: Vec::new(),
            by_others: Vec::new(),
            exclusions: Vec::new(),
            valid_until: None,
            valid_days: None,
        }
    }
}

impl Estimate {
    /// The fields that belong to the firm and go along to its next job; the others belong to this job.
    pub const OF_THE_FIRM: [&'static str; 11] = [
        "currency",
        "hourly_rate",
        "hours",
        "overhead_percent",
        "margin_percent",
        "tax_percent",
        "tax_on",
        "waste",
        "shared_route",
        "exclusions",
        "valid_days",
    ];

    /// What of it goes along to the firm's next job, with the box that is usual.
    #[must_use]
    pub fn of_the_firm(&self) -> Self {
        Self {
            client: String::new(),
            reels_on_hand: Vec::new(),
            allowances: Vec::new(),
            by_others: Vec::new(),
            valid_until: None,
            ..self.clone()
        }
    }

    /// Whether it says nothing, so that the file leaves it out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

fn is_dollar(currency: &str) -> bool {
    currency == "$"
}

/// What a sales tax falls on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum TaxOn {
    /// On the parts as they are bought: a cost of the firm, before overhead and margin.
    #[default]
    Materials,
    /// On the whole price, added last.
    Price,
}

impl TaxOn {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes what it skips by reference")]
    fn is_default(&self) -> bool {
        *self == Self::Materials
    }
}

/// What the plan of cuts does with home runs of one cable that go from one panel or box to one room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum SharedRoute {
    /// Nothing: any cut may come from any reel.
    #[default]
    Free,
    /// Cut one after the other from one reel, so that one reel is carried there.
    OneReel,
    /// Pulled side by side, each from a reel of its own.
    SideBySide,
}

impl SharedRoute {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes what it skips by reference")]
    fn is_default(&self) -> bool {
        *self == Self::Free
    }
}

/// A reel that need not be bought.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReelOnHand {
    /// Its cable type.
    pub cable: Id,
    /// Cable left on it.
    pub left: Length,
}

/// A sum set aside for what is still to be chosen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Allowance {
    /// What for.
    pub name: String,
    /// How much, as it stands in the price.
    pub amount: Money,
}

/// What is bought beyond what is counted, in percent by kind of part. Cable has none here: its lengths carry allowance
/// and make-up, and what is wasted of a reel the plan of cuts shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Waste {
    /// Of fixtures.
    #[serde(skip_serializing_if = "Rate::is_zero")]
    pub fixtures: Rate,
    /// Of controls.
    #[serde(skip_serializing_if = "Rate::is_zero")]
    pub controls: Rate,
    /// Of boxes.
    #[serde(skip_serializing_if = "Rate::is_zero")]
    pub boxes: Rate,
    /// Of small parts.
    #[serde(skip_serializing_if = "Rate::is_zero")]
    pub small_parts: Rate,
}

impl Default for Waste {
    fn default() -> Self {
        Self { fixtures: Rate::ZERO, controls: Rate::ZERO, boxes: Rate::ZERO, small_parts: Rate::ZERO }
    }
}

impl Waste {
    fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

macro_rules! labor {
    ($($name:ident, $word:literal, $doc:literal;)+) => {
        /// Hours of one person by task. A task that a firm counts in another one has `"0"`; one left out is unknown.
        #[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
        #[serde(deny_unknown_fields, default)]
        pub struct LaborUnits {
            $(#[doc = $doc]
            #[serde(skip_serializing_if = "Option::is_none")]
            pub $name: Option<Hours>,)+
        }

        impl LaborUnits {
            /// Every task: its field, its word, and its hours.
            pub fn tasks(&self) -> Vec<(&'static str, &'static str, Option<Hours>)> {
                vec![$((stringify!($name), $word, self.$name),)+]
            }

            fn is_empty(&self) -> bool {
                *self == Self::default()
            }
        }
    };
}

labor! {
    home_run, "pull a home run", "To pull a home run or an onward feed, measured by none of its feet.";
    run_loop, "pull a loop", "To pull a loop through its ceiling boxes.";
    link, "pull a control link", "To pull a control link.";
    cable_100_ft, "pull cable, per 100 ft", "For each 100 ft of any cable, beside the hours for each cable.";
    wall_box, "set a wall box", "To set a wall box.";
    ceiling_box, "set a ceiling box", "To set a ceiling box.";
    joint, "join or cap conductors", "To make up a joint of conductors, or to cap one.";
    landing, "land a conductor", "To land a conductor of a home run in the panel.";
    control, "set a control", "To set a control.";
    fixture, "hang a fixture", "To hang a fixture.";
    supply, "mount a supply", "To mount a supply in its panel.";
    panel, "hang a panel", "To hang a panel.";
    test, "test a run", "To test a home run with all that hangs on it, at rough-in and at trim together.";
    take_out_cable, "take out a cable", "To take out a cable that is pulled, or to cut it off and cap both its ends; in change orders.";
    take_out_part, "take out a part", "To take out a box, a control, a fixture or a supply that is set; in change orders.";
    job, "once for the job", "Once for the whole job: setting up, moving, cleaning.";
}
