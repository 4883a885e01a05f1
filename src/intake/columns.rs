//! The columns of the table of rooms.

use std::fmt::Write as _;

macro_rules! columns {
    ($($name:ident = $key:literal, $about:literal;)+) => {
        /// A column of the table of rooms.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Col {
            $(#[doc = $about] $name,)+
        }

        impl Col {
            /// Every column, in the order in which they are written.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// Its heading.
            pub const fn key(self) -> &'static str {
                match self { $(Self::$name => $key,)+ }
            }

            /// What stands in it.
            pub const fn about(self) -> &'static str {
                match self { $(Self::$name => $about,)+ }
            }
        }
    };
}

columns!(
    Level = "level", "Name of the level; empty: as in the row above.";
    Elevation = "elevation", "Height of its floor above the lowest floor.";
    Room = "room", "Name of the room.";
    Area = "area", "Floor area; or give width and depth.";
    Width = "width", "Size across the plan.";
    Depth = "depth", "Size up the plan.";
    Ceiling = "ceiling", "Height of the ceiling above the floor.";
    X = "x", "Corner of the room, across the plan.";
    Y = "y", "Corner of the room, up the plan.";
    Illuminance = "illuminance", "Light wished for, like 100 lx or 10 fc.";
    WallBox = "box", "Name of the wall box; empty: the room's.";
    BoxX = "box_x", "Place of the wall box, across the plan.";
    BoxY = "box_y", "Place of the wall box, up the plan.";
    BoxHeight = "box_height", "Height of the wall box above the floor.";
    BoxType = "box_type", "Box type or 'none'; empty: the smallest that fits.";
    From = "from", "Panel or output (PS1.2); empty: the only panel, 'none': no home run.";
    HomeRun = "home_run", "Cable type of the home run; empty: as the job's others.";
    Control = "control", "Control type, or 'same' for more loops of the control above.";
    ControlName = "control_name", "What people call the control.";
    LightsIn = "lights_in", "Room the lights hang in, if another; on another level LEVEL / ROOM.";
    Lights = "lights", "How many lights, or 'propose' for a number by the job's rule.";
    Fixture = "fixture", "Fixture type or 'none'; 'A or B' while open; '4 A + 2 B' in order.";
    Loops = "loops", "Loops the lights are dealt over; empty: one.";
    Path = "path", "How loops end: one-way, capped or returned; empty: one-way.";
    LoopCable = "loop_cable", "Cable type of the loops; empty: as the job's others.";
);

impl Col {
    /// The column of a heading, whatever its case and whatever stands between its words.
    pub fn of(heading: &str) -> Option<Self> {
        let folded = fold(heading);
        Self::ALL.iter().copied().find(|column| fold(column.key()) == folded)
    }
}

fn fold(heading: &str) -> String {
    heading.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The columns as help, one a line.
pub fn help() -> String {
    let mut text = String::new();
    for column in Col::ALL {
        // Writing to a string does not fail.
        let _ = writeln!(text, "  {:<13} {}", column.key(), column.about());
    }
    text
}
