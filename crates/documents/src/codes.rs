//! Every finding's code: stable, with its severity and its one-line meaning.

use units::Severity;

/// A kind of finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Code {
    /// Stable code such as `D204`.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What it means, in one line.
    pub meaning: &'static str,
}

macro_rules! codes {
    ($($name:ident $code:literal $severity:ident $meaning:literal;)*) => {
        $(
            #[doc = $meaning]
            pub(crate) const $name: Code =
                Code { code: $code, severity: Severity::$severity, meaning: $meaning };
        )*

        /// The catalogue: D1xx whole files, D2xx values, D3xx references between files, D4xx plans.
        pub const CODES: &[Code] = &[$($name),*];
    };
}

codes! {
    MISSING_FILE "D101" Error "A required file is not in the folder.";
    NOT_UTF8 "D102" Error "A file is not UTF-8 text.";
    FILE_TOO_LARGE "D103" Error "A file is larger than 64 MiB, or a settings file than 4 MiB; it is not read at all.";
    LINE_TOO_LONG "D104" Error "A line of a table is longer than 1 MiB.";
    TOO_MANY_ROWS "D105" Error "A table has more than 200 000 rows; the rest is not read.";
    EMPTY_FILE "D106" Error "A file holds nothing.";
    UNKNOWN_COLUMN "D107" Error "A table's header names a column that does not belong there.";
    MISSING_COLUMN "D108" Error "A table's header lacks a required column.";
    DUPLICATE_COLUMN "D109" Error "A table's header names a column twice.";
    CELL_COUNT "D110" Error "A row has more or fewer cells than the header.";
    BAD_QUOTES "D111" Error "A quoted cell is not closed on its line, or text follows its end.";
    TOML_SYNTAX "D112" Error "A file is not well-formed TOML.";
    UNKNOWN_FILE "D113" Warning "A table or settings file has a name nobody reads.";
    WRONG_HEADER "D114" Error "The first line of a table is not its header.";
    ABSENT_FILE "D115" Note "An optional file is not in the folder; what is assumed instead.";
    EMPTY_LIST "D116" Error "A file that must describe at least one thing describes none.";
    TOO_MANY "D117" Error "More of one kind than a shop can have; the rest is not read.";
    MORE_FINDINGS "D190" Note "More findings than are shown; the rest come once these are mended.";

    VALUE_MISSING "D201" Error "A required cell or key is empty or absent.";
    NOT_A_NUMBER "D202" Error "A value is not a plain decimal number.";
    NOT_FINITE "D203" Error "A number is NaN or infinite.";
    NEGATIVE "D204" Error "A number is negative where it cannot be.";
    OUT_OF_RANGE "D205" Error "A number is outside the stated range.";
    UNKNOWN_UNIT "D206" Error "A length carries a unit other than mm, in, inch or the inch mark.";
    BAD_MOMENT "D207" Error "A value is not a date, or not a date and time.";
    SKIPPED_TIME "D208" Error "A local time does not exist: the clocks are set forward past it.";
    UNKNOWN_CHOICE "D209" Error "A value is none of the words allowed.";
    BAD_ID "D210" Error "A value is not an id.";
    WRONG_TYPE "D211" Error "A key holds the wrong kind of value.";
    UNKNOWN_KEY "D212" Error "A settings file has a key that does not belong there.";
    UNKNOWN_ZONE "D213" Error "A time zone is not in the IANA list.";
    BAD_CLOCK_TIME "D214" Error "A value is not a time of day such as 06:00.";
    BREAK_OUTSIDE "D215" Error "A break does not lie within its shift.";
    REVERSED "D216" Error "Of two values that bound each other the lesser is the greater.";
    NOT_WHOLE "D217" Error "A number must be whole.";
    ONE_OF_TWO "D218" Error "Of two cells exactly one must be filled.";
    NOT_FOR_THIS "D219" Error "A value stands where the row's kind has no use for it.";
    BAD_TEXT "D220" Error "A text is too long or holds control characters.";
    NOT_RISING "D221" Error "Rows that must rise do not.";

    UNKNOWN_PART "D301" Error "A part is not in parts.csv.";
    UNKNOWN_MATERIAL "D302" Error "A material is not in materials.toml.";
    UNKNOWN_PROFILE "D303" Error "A profile is not in tooling.toml, or is of the other kind.";
    UNKNOWN_BRAKE "D304" Error "A brake is not in brakes.toml.";
    UNKNOWN_CALENDAR "D305" Error "A calendar is not in shop.toml.";
    UNKNOWN_SECTION "D306" Error "A section is not in sections.csv.";
    UNKNOWN_ORDER "D307" Error "An order is not in work-orders.csv.";
    DUPLICATE_ID "D308" Error "Two things have one id.";
    CIRCLE "D309" Error "Orders wait for each other in a circle.";
    DUE_BEFORE_READY "D310" Error "An order is due before it may start.";
    FEW_BLANKS "D311" Warning "An order's blanks are fewer than its pieces.";
    MANY_DELIVERIES "D312" Error "An order's deliveries add up to more than its pieces.";
    RUNNING_TWICE "D313" Error "An order runs on two brakes, or a brake has two orders running.";
    DONE_TOO_MANY "D314" Error "More pieces are done than were ordered.";
    SECTION_TWICE "D315" Error "A section stands in two places.";
    SECTION_OF_OTHER "D316" Error "A section is not of the station's profile.";
    SECTION_OUT "D317" Error "A section on a bed is out of service.";
    OFF_THE_BED "D318" Error "A station does not lie within its bed.";
    STATIONS_OVERLAP "D319" Error "Two stations of a bed overlap.";
    MIXED_SETS "D320" Error "A station's sections are of two sets.";
    HORN_INSIDE "D321" Error "A horn section stands between others or on the wrong end.";
    HORN_ON_DIE "D322" Error "A die section cannot have a horn.";
    NO_BENDS "D323" Error "A part has no bends.";
    BEND_GAP "D324" Error "A part's bends are not numbered 1, 2, 3 without gaps.";
    SETUP_BENDS "D325" Error "A proven setup leaves out a bend, names one twice or an unknown one.";
    SETUP_STATIONS "D326" Error "A proven setup's stations are not numbered 1, 2, 3 without gaps.";
    SETUP_DISAGREES "D327" Error "Rows of one proven setup disagree.";
    DOES_NOT_MOUNT "D328" Error "A tool on a bed or in a proven setup does not fit the brake's tang or mount.";
    TIED_ELSEWHERE "D329" Error "An order runs on a brake other than the one it is tied to.";
    CANNOT_MAKE "D330" Error "A station of a proven setup has tools that cannot make a bend named there.";
    LINE_OUTSIDE "D331" Error "A bend line does not lie strictly inside its blank.";
    LINE_TWICE "D332" Error "Two bends of a part, on edges of one direction, have one line.";
    DEDUCTION_TWICE "D333" Error "Two measured deductions are for one material, thickness, angle and V.";
    TURNED_ABOUT "D334" Error "A station's punch stands turned about, which one without relief cannot.";
    UNKNOWN_GRADE "D335" Error "A grade is not in the catalogue of sheet grades.";
    MANY_RUNS "D336" Error "An order would be cut into too many runs.";
    PLACE_ALONE "D337" Error "An order has a place but no brake.";
    PLACE_TWICE "D338" Error "Two orders have one place on one brake.";
    NOBODY_TRAINED "D340" Warning "Nobody is trained to bend, or to set, on a brake.";
    NO_SECTIONS "D341" Note "A profile has no section in service.";
    LONE_KIT "D342" Note "A kit has one member.";
    NOT_USED "D343" Warning "A value has no effect where it stands.";
    BEND_BEYOND_BLANK "D344" Warning "A bend is longer than its blank's diagonal.";
    SIDES_SWAPPED "D345" Note "A blank's shorter side is given as its length; the sides are swapped.";
    ALL_DONE "D346" Note "All pieces of a running order are done; it is left out of the plan.";
    LINES_NOT_USED "D347" Note "Bend lines are given from which a part's section does not follow.";
    NECK_IN_THE_WAY "D348" Warning "A relieved punch's neck would stand in the way of the back leg of a square bend.";
    BELOW_GRADE "D349" Warning "A material's strength is below the range of its grade.";

    PLAN_SYNTAX "D401" Error "A plan is not well-formed JSON.";
    PLAN_FIELD "D402" Error "A plan's field is unknown, missing or given twice.";
    PLAN_VALUE "D403" Error "A plan's field holds a value that cannot stand there.";
    PLAN_FORMAT "D404" Error "A plan is of a format this program does not read.";
    PLAN_SHOP "D405" Error "A plan is for another shop.";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_rise() {
        for pair in CODES.windows(2) {
            assert!(
                pair[0].code < pair[1].code,
                "{} {}",
                pair[0].code,
                pair[1].code
            );
        }
    }

    #[test]
    fn every_code_is_documented_with_its_severity_and_meaning() {
        let page = include_str!("../../../docs/reference/codes.md");
        for code in CODES {
            let severity = format!("{:?}", code.severity).to_lowercase();
            let row = format!("| {} | {severity} | {} |", code.code, code.meaning);
            assert!(page.contains(&row), "docs/reference/codes.md lacks: {row}");
        }
    }
}
