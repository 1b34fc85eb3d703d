//! The rules of the grammar in a reader's words.

use super::grammar::Rule;

/// What a reader would call the thing that a rule reads; `None` where it would only confuse.
fn words(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::standard_statement | Rule::kw_standard => "`standard`",
        Rule::run_statement | Rule::kw_run => "`run`",
        Rule::use_statement | Rule::kw_use => "`use`",
        Rule::unit_statement | Rule::kw_unit => "`unit`",
        Rule::kind_statement | Rule::kw_kind => "`kind`",
        Rule::step_statement | Rule::kw_step => "`step`",
        Rule::add_statement | Rule::kw_add_to => "`add to`",
        Rule::rule_statement | Rule::kw_rule => "`rule`",
        Rule::caution_statement | Rule::caution_clause | Rule::kw_caution => "`caution`",
        Rule::sequence_statement | Rule::kw_sequence => "`sequence`",
        Rule::table_statement | Rule::kw_table => "`table`",
        Rule::example_statement | Rule::kw_example => "`example`",
        Rule::deviation_statement | Rule::kw_deviation_from => "`deviation from`",
        Rule::reading_statement | Rule::kw_reading => "`reading`",
        Rule::without_statement | Rule::kw_without => "`without`",
        Rule::instead | Rule::kw_instead_of => "`instead of`",
        Rule::record_statement | Rule::record_kind => "a kind",
        Rule::kind_block
        | Rule::record_block
        | Rule::rule_block
        | Rule::sequence_block
        | Rule::table_block
        | Rule::example_block
        | Rule::deviation_block
        | Rule::reading_block
        | Rule::open_brace => "`{`",
        Rule::field | Rule::clause | Rule::step_setting | Rule::setting | Rule::setting_name => {
            "a setting"
        }
        Rule::require_clause | Rule::verb => "`shall`, `should` or `may`",
        Rule::when_clause | Rule::kw_when => "`when`",
        Rule::when_out_clause | Rule::kw_when_out => "`when out`",
        Rule::read_every_clause | Rule::kw_read_every => "`read every`",
        Rule::for_clause | Rule::kw_for_each => "`for each`",
        Rule::because_clause | Rule::kw_because | Rule::because => "`because`",
        Rule::changing_clause | Rule::kw_changing => "`changing`",
        Rule::kw_sd => "`sd`",
        Rule::kw_of_it => "`of it`",
        Rule::kw_takes => "`takes`",
        Rule::kw_not_listed => "`not listed`",
        Rule::sort => "`set in steps of`, `given` or `measured by`",
        Rule::kw_set => "`set in steps of`",
        Rule::kw_in_steps => "`in steps of`",
        Rule::kw_given => "`given`",
        Rule::kw_unless => "`unless the plan states it`",
        Rule::kw_measured => "`measured by`",
        Rule::per_clause | Rule::kw_per | Rule::per => "`per`",
        Rule::law_clause | Rule::kw_law | Rule::law => "`law`",
        Rule::kw_reviewed => "`reviewed`",
        Rule::adjust_clause | Rule::kw_adjust => "`adjust`",
        Rule::say_clause | Rule::kw_say => "`say`",
        Rule::step_clause => "a step",
        Rule::table_row | Rule::table_cell => "a row",
        Rule::bar => "`|`",
        Rule::run_clause => "`run`",
        Rule::expect_clause | Rule::kw_expect => "`expect`",
        Rule::outcome => "`holds`, `breaks`, `at risk`, `not stated` or `does not apply`",
        Rule::up_to_clause | Rule::kw_up_to => "`up to`",
        Rule::approved_clause | Rule::kw_approved => "`approved`",
        Rule::until_clause | Rule::kw_until => "`until`",
        Rule::pieces_clause | Rule::kw_pieces => "`pieces`",
        Rule::day | Rule::date => "a date, as in `2026-12-31`",
        Rule::taken | Rule::kw_read => "`read on`",
        Rule::value_clause | Rule::kw_value => "`value`",
        Rule::kw_by => "`by`",
        Rule::kw_for => "`for`",
        Rule::at_clause | Rule::kw_at => "`at`",
        Rule::with_clause | Rule::kw_with => "`with`",
        Rule::on_clause | Rule::kw_on => "`on`",
        Rule::expression => "a condition or formula",
        Rule::group | Rule::arguments | Rule::open_paren => "`(`",
        Rule::operator
        | Rule::one_of
        | Rule::kw_one_of
        | Rule::stated
        | Rule::stated_so
        | Rule::read_within
        | Rule::kw_read_within
        | Rule::not_older
        | Rule::kw_not_older => "an operator",
        Rule::reference_head | Rule::name | Rule::record_name | Rule::value_name => "a name",
        Rule::path => "a path",
        Rule::number | Rule::magnitude => "a number",
        Rule::unit => "a unit",
        Rule::kind_name => "the name of a kind",
        Rule::unit_name => "the name of a unit",
        Rule::parent => "the name of a record",
        Rule::step_kind => "a kind of step",
        Rule::type_name => "a type",
        Rule::kw_edition => "`edition`",
        Rule::kw_against => "`against`",
        Rule::kw_is => "`is`",
        Rule::kw_make => "`make`",
        Rule::kw_from => "`from`",
        Rule::kw_to => "`to`",
        Rule::kw_choice_of => "`choice of`",
        Rule::kw_count_of => "`count of`",
        Rule::kw_range_of => "`range of`",
        Rule::practice => "`practice`",
        Rule::place_one => "`one to a run`",
        Rule::place_many => "`many to a run`",
        Rule::at_least => "`at least`",
        Rule::at_most => "`at most`",
        Rule::close_brace => "`}`",
        Rule::close_paren => "`)`",
        Rule::equals => "`=`",
        Rule::plus_minus | Rule::plus_sign | Rule::minus_sign => "a tolerance",
        Rule::comma => "a comma",
        Rule::text => "a text in double quotes",
        Rule::trailing => "the end of the line",
        // Leaves of leaves, lines as a whole, and what reads on only from here.
        Rule::item
        | Rule::statement
        | Rule::block_end
        | Rule::unclosed
        | Rule::behind_brace
        | Rule::kind_line
        | Rule::record_line
        | Rule::rule_line
        | Rule::sequence_line
        | Rule::table_line
        | Rule::example_line
        | Rule::deviation_line
        | Rule::reading_line
        | Rule::reading_clause
        | Rule::table_clause
        | Rule::example_clause
        | Rule::deviation_clause
        | Rule::kind_clause
        | Rule::parts_clause
        | Rule::field_type
        | Rule::record_clause
        | Rule::loosen_clause
        | Rule::shows_clause
        | Rule::kw_shows
        | Rule::value
        | Rule::tolerance
        | Rule::rule_clause
        | Rule::prefix
        | Rule::operand
        | Rule::path_tail
        | Rule::reserved_in_expression
        | Rule::literal
        | Rule::size
        | Rule::digits
        | Rule::unit_bracket
        | Rule::unit_joint
        | Rule::unit_factor
        | Rule::unit_word
        | Rule::unit_sign
        | Rule::unit_power
        | Rule::reserved_as_unit
        | Rule::reserved_as_value
        | Rule::keyword
        | Rule::rule_word
        | Rule::word
        | Rule::letter
        | Rule::word_rest
        | Rule::boundary
        | Rule::kw_parts
        | Rule::kw_loosens
        | Rule::kw_not
        | Rule::minus
        | Rule::separator
        | Rule::text_part
        | Rule::comment
        | Rule::comment_line
        | Rule::blank_line
        | Rule::blank
        | Rule::last_blank
        | Rule::ws0
        | Rule::ws1
        | Rule::newline
        | Rule::eol
        | Rule::end
        | Rule::broken_statement
        | Rule::broken_line
        | Rule::raw
        | Rule::raw_or_not
        | Rule::block_rest
        | Rule::indented_rest
        | Rule::raw_blank
        | Rule::block_header
        | Rule::opens_block
        | Rule::next_statement
        | Rule::strict_statement
        | Rule::strict_kind_line
        | Rule::strict_record_line
        | Rule::strict_rule_line
        | Rule::strict_sequence_line
        | Rule::strict_table_line
        | Rule::strict_example_line
        | Rule::strict_deviation_line
        | Rule::strict_reading_line
        | Rule::slips
        | Rule::slip_start
        | Rule::slip_piece
        | Rule::plain_number
        | Rule::slip_late_verb
        | Rule::slip_must
        | Rule::slip_mark
        | Rule::slip_is
        | Rule::slip_call
        | Rule::slip_comment
        | Rule::slip_quote
        | Rule::slip_number
        | Rule::slip_range
        | Rule::slip_spaced_range
        | Rule::slip_between
        | Rule::slip_word
        | Rule::slip_more
        | Rule::slip_less
        | Rule::slip_tolerance
        | Rule::slip_sign
        | Rule::slip_minus
        | Rule::slip_fraction
        | Rule::slip_date
        | Rule::date_mark
        | Rule::slip_clock
        | Rule::slip_feet
        | Rule::slip_inches
        | Rule::slip_ratio
        | Rule::slip_degree
        | Rule::slip_apart
        | Rule::slip_two_units
        | Rule::slip_wide
        | Rule::slip_end
        | Rule::slip_colon
        | Rule::slip_operator
        | Rule::EOI => return None,
    })
}

/// The words for all rules that would have gone on at one place, each once.
pub(super) fn expected(rules: &[Rule]) -> Vec<&'static str> {
    let mut expected: Vec<&'static str> = Vec::new();
    for words in rules.iter().filter_map(|rule| words(*rule)) {
        if !expected.contains(&words) {
            expected.push(words);
        }
    }
    let all = |words: [&str; 2]| words.iter().all(|words| expected.contains(words));
    if all(["`when`", "`adjust`"]) {
        return vec!["a clause of a rule"];
    }
    if all(["`kind`", "`rule`"]) {
        return vec!["a statement"];
    }
    expected
}

/// What a record says of a dial that reads wrong.
pub(super) const SHOWS: &str = "belt shows 10 ft/min at 9.2 ft/min ± 0.1 ft/min";

/// How a statement or clause that starts with a word looks.
pub(super) fn form(first: &str) -> Option<&'static str> {
    Some(match first {
        "standard" => "standard \"name\" edition \"2026-4\"",
        "run" => "run \"name\" against \"room.std\"",
        "use" => "use inks",
        "unit" => "unit dozen = 12 pieces",
        "kind" => "kind dryer, one to a run {",
        "step" => "step flash {",
        "add" => "add to dryer {",
        "rule" => "rule slow-heat \"title\" {",
        "caution" => "caution hot-pallet \"title\" {",
        "sequence" => "sequence {",
        "table" => "table cure by screen.ink, garment {",
        "example" => "example too-fast \"title\" {",
        "deviation" => "deviation from slow-heat \"title\" {",
        "expect" => "expect slow-heat breaks at dryer.belt",
        "up" => "up to 58 s",
        "approved" => "approved \"who, and when\"",
        "until" => "until 2026-12-31",
        "pieces" => "pieces 300",
        "reading" => "reading film.peak {",
        "without" => "without slow-heat because \"reason\"",
        "instead" => "rule our-heat \"title\" instead of slow-heat because \"reason\" {",
        "value" => "value 285 °F ± 6 °F",
        "at" => "at dryer.belt 3 m/min",
        "on" => "on 2026-11-20",
        "with" => "with probe-4",
        "parts" => "parts cotton, polyester make 100 %",
        "loosens" => "loosens mesh 60 to 200 /in because \"reason\"",
        "for" => "for each screen",
        "when" => "when garment.polyester at least 30 %",
        "shall" | "should" | "may" => "shall dryer.dwell at least 65 s",
        "because" => "because \"sentence\"",
        "per" => "per \"source\", or per practice",
        "law" => "law \"source\"",
        "reviewed" => "per \"source\" reviewed 2026-03-01",
        "adjust" => "adjust dryer.belt, dryer.set-point",
        "say" => "say \"sentence\"",
        _ => return None,
    })
}
