#!/usr/bin/env python3
"""shotassay plan: mistakes, contradictions and questions without an answer, each with its message and exit status."""

import itertools

from program import ProgramTest, codes, main, run

SD = ("--sd", "1.2")


class PlanErrors(ProgramTest):
    def wrong(self, *words, says=(), lines=None, status=2):
        ran = self.refused(status, "plan", *words)
        self.complains(ran, *([says] if isinstance(says, str) else says))
        if lines is not None:
            self.assertEqual(len(ran.err.splitlines()), lines, str(ran))
        for line in ran.err.splitlines():
            self.assertNotRegex(line, r"  | :|: :|^shotassay: [a-z]+_[a-z_]+: ")  # no gap left, no function's name
        return ran


class Values(PlanErrors):
    def test_values_that_cannot_be(self):
        for option, value, message in (("--resolve", "0", "must be more than 0"), ("--resolve", "-3", "must be more than 0"),
                                       ("--resolve", "three", "not a number"), ("--resolve", "1e7", "at most 1000000"),
                                       ("--shots", "1", "whole number from 2"), ("--shots", "0", "whole number from 2"),
                                       ("--shots", "2.5", "whole number from 2"), ("--shots", "1e6", "to 10000"),
                                       ("--shots", "-4", "whole number"), ("--sd", "0", "must be more than 0"),
                                       ("--sd", "-1", "must be more than 0"), ("--sd", "nan", "not a number"),
                                       ("--sd", "inf", "not a number"), ("--sd", "1e300", "at most 1000000"),
                                       ("--sd", "1,2", "not a number; write a decimal point"), ("--power", "80", "between 0 and 1"),
                                       ("--power", "1", "between 0 and 1"), ("--power", "0", "between 0 and 1"),
                                       ("--confidence", "95", "for 95 % write 0.95"), ("--display", "0", "positive"),
                                       ("--display", "one", "positive decimal number"), ("--unit", "mph", "fps or m/s"),
                                       ("--method", "pooled", "must be rounding_aware or welch"),
                                       ("--simulate", "10", "whole number from 1000"), ("--max-operations", "0", "more than 0"),
                                       ("--max-memory", "x", "not a number"), ("--seed", "-1", "whole number"),
                                       ("--threads", "0", "whole number"), ("--color", "red", "auto, always or never")):
            with self.subTest(option=option, value=value):
                given = {"--resolve": "3", "--sd": "1.2"} | {option: value}
                self.wrong(*(word for pair in given.items() for word in pair), says=(f"{option} {value}: ", message), lines=1)

    def test_goals_that_cannot_be(self):
        for option in ("--within", "--same-within"):
            for value in ("0", "-1"):
                self.wrong(option, value, *SD, says=f"{option} {value}: must be more than 0", lines=1)
            self.wrong(option, "x", *SD, says=f"{option} x: not a number", lines=1)

    def test_values_of_the_sheet(self):
        sheet = ("--resolve", "3", *SD, "--sheet", self.folder / "s.csv")
        for option, value, message in (("--margin", "0", "must be more than 0"), ("--margin", "-1", "must be more than 0"),
                                       ("--arrows", "0", "whole number from 1 to 100"), ("--warm-ups", "-1", "whole number"),
                                       ("--change", "often", "must be easy or costly")):
            self.wrong(*sheet, option, value, says=(f"{option} {value}: ", message), lines=1)
        self.assertEqual(list(self.folder.iterdir()), [])

    def test_values_of_kinds(self):
        kinds = ("--kinds", "--resolve", "3", *SD)
        for value in ("0", "-2"):
            self.wrong(*kinds, "--bow-sd", value, says=f"--bow-sd {value}: must be more than 0", lines=1)
        self.wrong(*kinds, "--bow-sd", "2", "--cost-bow", "-1", "--cost-shot", "1", says="--cost-bow -1: must be 0 or more")
        self.wrong(*kinds, "--bow-sd", "2", "--cost-bow", "0", "--cost-shot", "0", says="one of them must be more than 0")
        for words in (("--cost-bow", "1"), ("--cost-shot", "1")):
            self.wrong(*kinds, "--bow-sd", "2", *words, says="--cost-bow, --cost-shot: give both", lines=1)

    def test_values_of_a_split(self):
        for value in ("3", "20001", "4.5"):
            self.wrong("--total-shots", value, *SD, says=f"--total-shots {value}: must be a whole number from 4 to 20000", lines=1)

    def test_a_gap_that_the_display_cannot_tell(self):
        for words, step in (((), "1"), (("--display", "0.5"), "0.5")):
            below = "0.0999" if step == "1" else "0.0499"
            self.wrong("--resolve", below, *SD, *words, says=f"is below a tenth of the display step of {step}", lines=1)
            self.wrong("--shots", "5", "--resolve", below, *SD, *words, says="a tenth of the display step", lines=1)
        self.wrong("--kinds", "--bow-sd", "1", "--resolve", "0.05", *SD, says="a tenth of the display step", lines=1)
        self.wrong("--total-shots", "20", "--resolve", "0.05", *SD, says="a tenth of the display step", lines=1)
        self.ended(run("plan", "--shots", "5", "--resolve", "0.1", *SD), 0)

    def test_a_power_that_chance_alone_reaches(self):
        for power, confidence in (("0.05", "0.95"), ("0.04", "0.95"), ("0.1", "0.9"), ("0.5", "0.5")):
            self.wrong("--resolve", "3", *SD, "--power", power, "--confidence", confidence,
                       says=f"--power {power}: is no more than what chance alone finds", lines=1)
        self.planned("--resolve", "3", *SD, "--power", "0.06")

    def test_a_true_gap_outside_the_margin(self):
        for gap in ("2", "-2", "3"):
            self.wrong("--same-within", "2", "--true-gap", gap, *SD, says=f"--true-gap {gap}: does not lie inside the margin", lines=1)
        self.wrong("--same-within", "2", "--true-gap", "x", *SD, says="--true-gap x: not a number", lines=1)


class Contradictions(PlanErrors):
    def test_nothing_asked(self):
        self.wrong(says=("--resolve, --within, --same-within or --shots: say what the test shall achieve, the shots you have, or both",
                         "--sd: say how much shots scatter: --sd 1.2, --from SHEET.csv of an earlier test, or --shooter release"),
                   lines=2)
        self.wrong(*SD, says="say what the test shall achieve", lines=1)
        self.wrong("--resolve", "3", says="say how much shots scatter", lines=1)

    def test_two_questions_at_once(self):
        goals = {"--resolve": "3", "--within": "1", "--same-within": "2"}
        for a, b in itertools.combinations(goals, 2):
            for words in ((a, goals[a], b, goals[b]), (b, goals[b], a, goals[a])):
                for shots in ((), ("--shots", "5")):
                    self.wrong(*words, *shots, *SD, says=f"{a} and {b}: two questions at once; ask one of them", lines=1)
        self.wrong("--resolve", "3", "--within", "1", "--same-within", "2", *SD, says="--resolve and --same-within", lines=2)

    def test_kinds_and_another_question(self):
        kinds = ("--kinds", "--bow-sd", "2.5", *SD)
        self.wrong(*kinds, says="--kinds: say the gap to find with --resolve", lines=1)
        self.wrong("--kinds", "--resolve", "3", *SD, says="--kinds: say with --bow-sd how much bows of one kind differ", lines=1)
        self.wrong(*kinds, "--resolve", "3", "--shots", "5", says="--kinds and --shots: how many shots with each bow is what", lines=1)
        self.wrong(*kinds, "--resolve", "3", "--total-shots", "24", says="--kinds and --total-shots: two questions", lines=1)
        self.wrong(*kinds, "--resolve", "3", "--method", "welch", says="--method welch: kinds are compared by the averages", lines=1)
        for goal in ("--within", "--same-within"):
            self.wrong(*kinds, goal, "2", says=f"--kinds and {goal}: kinds are planned for a gap")

    def test_a_split_and_another_question(self):
        split = ("--total-shots", "24", "--sd", "A=1", "--sd", "B=2.5")
        self.wrong(*split, "--shots", "5", says="--total-shots and --shots: two questions at once", lines=1)
        for goal in ("--within", "--same-within"):
            self.wrong(*split, goal, "2", says=f"--total-shots and {goal}: shots are split for a gap", lines=1)

    def test_options_that_need_another(self):
        for option in ("--bow-sd", "--cost-bow", "--cost-shot"):
            self.wrong("--resolve", "3", *SD, option, "2", says=f"{option} 2: goes with --kinds")
        self.wrong("--resolve", "3", *SD, "--true-gap", "1", says="--true-gap 1: goes with --same-within", lines=1)
        for option, value in (("--title", "x"), ("--arrows", "3"), ("--check-standard", "x"), ("--warm-ups", "1"),
                              ("--margin", "2"), ("--change", "costly")):
            self.wrong("--resolve", "3", *SD, option, value, says=f"{option} {value}: goes with --sheet or --report", lines=1)
        self.wrong("--resolve", "3", *SD, "--force", says="--force: goes with --sheet, --report or --svg", lines=1)

    def test_two_margins(self):
        self.wrong("--same-within", "2", "--margin", "3", *SD, "--sheet", self.folder / "s.csv",
                   says="--margin and --same-within: the margin is that of --same-within", lines=1)

    def test_what_is_worked_out_exactly_is_not_simulated(self):
        for words, other in ((("--resolve", "3", "--method", "welch"), "--method welch"), (("--within", "1"), "--within"),
                             (("--kinds", "--bow-sd", "1", "--resolve", "3"), "--kinds")):
            self.wrong(*words, *SD, "--simulate", "1e4", says=f"--simulate and {other}: ", lines=1)

    def test_several_mistakes_are_told_at_once(self):
        ran = self.wrong("--resolve", "x", "--shots", "1", "--sd", "0", "--power", "2", "--confidence", "95", "--unit", "mph",
                         "--display", "0", "--change", "often", "--color", "red", "--kinds", "--bow-sd", "-1", "--seed", "x")
        for option in ("--resolve x", "--shots 1", "--sd 0", "--power 2", "--confidence 95", "--unit mph", "--display 0",
                       "--change often", "--color red", "--bow-sd -1", "--seed x", "--kinds and --shots"):
            self.assertEqual(ran.err.count(f"shotassay: {option}: "), 1, str(ran))
        data = self.json_of(self.ended(run("plan", "--resolve", "0", "--sd", "0", "--shots", "1", "--json"), 2), "failure")
        self.assertEqual([p["message"].split(":")[0] for p in data["problems"]], ["--resolve 0", "--shots 1", "--sd 0"])

    def test_a_word_too_many_and_a_misspelt_option(self):
        self.wrong("--resolve", "3", *SD, "sheet.csv", says=("sheet.csv", "one too many"))
        self.wrong("--resolv", "3", *SD, says="did you mean --resolve?")
        self.wrong("--resolve", "3", *SD, "--shet", "s.csv", says="did you mean --sheet?")
        self.wrong("--resolve", "3", "--resolve", "4", *SD, says="--resolve: given more than once")
        self.wrong(*SD, "--resolve", says="--resolve: a value is missing")
        self.wrong("--resolve", "", *SD, says="empty")


class ShotSd(PlanErrors):
    def test_two_ways_at_once(self):
        ways = (SD, ("--from", self.sheet(a=[271, 272, 273])), ("--shooter", "release"))
        for some in (*itertools.combinations(ways, 2), ways):
            words = [word for way in some for word in way]
            self.wrong("--resolve", "3", *words, says="--sd, --from, --shooter: the SD comes from one of them", lines=1)

    def test_three_sds_or_one_without_its_name(self):
        three = ("--sd", "1", "--sd", "2", "--sd", "3")
        self.wrong("--resolve", "3", *three, says="--sd 3: one SD for both set-ups, or one for each of the two", lines=1)
        for words in (("--sd", "A=1"), ("--sd", "A=1", "--sd", "2"), ("--sd", "1", "--sd", "B=2"), ("--sd", "=1", "--sd", "B=2")):
            self.wrong("--resolve", "3", *words, says="name both set-ups, as in --sd A=1 --sd B=2.5, or neither", lines=1)

    def test_sds_by_name(self):
        self.wrong("--resolve", "3", "--sd", "A=1", "--sd", "A=2", says="--sd A=2: this set-up has its SD already", lines=1)
        for bad, message in (("A=0", "must be more than 0"), ("A=-1", "must be more than 0"), ("A=x", "not a number"), ("A=", "not a number")):
            self.wrong("--resolve", "3", "--sd", bad, "--sd", "B=2", says=f"--sd {bad}: {message}", lines=1)
        self.wrong("--resolve", "3", "--sd", "A=1", "--sd", "C=2", "--setup", "A", "--setup", "B",
                   says="--sd C=2: no set-up of that name is planned", lines=1)
        # The order is that of --setup; a name may hold a "=".
        inputs = self.planned("--resolve", "3", "--sd", "B=2", "--sd", "A=1", "--setup", "A", "--setup", "B")["inputs"]
        self.assertEqual((inputs["setups"], inputs["sd"]), (["A", "B"], [1, 2]))
        self.assertEqual(self.planned("--shots", "3", "--sd", "x=y=1", "--sd", "z=2")["inputs"]["setups"], ["x=y", "z"])

    def test_names_of_set_ups(self):
        self.wrong("--resolve", "3", *SD, "--setup", "x", says="--setup x: name two set-ups, or none", lines=1)
        self.wrong("--resolve", "3", *SD, *("--setup", "x") * 3, says="name two set-ups, or none", lines=1)
        self.wrong("--resolve", "3", *SD, "--setup", "x", "--setup", "x", says="--setup x: named twice", lines=1)

    def test_no_such_shooter(self):
        self.wrong("--resolve", "3", "--shooter", "hand", says="--shooter hand: must be machine, release or fingers", lines=1)


class NoAnswer(PlanErrors):
    def test_more_shots_than_anybody_shoots(self):
        # 2(1.96 + 0.84)²·50²/0.1² = 3.9 million shots for the gap, and no fewer for the others
        for goal, value in (("--resolve", "0.1"), ("--within", "0.1"), ("--same-within", "0.1")):
            self.wrong(goal, value, "--sd", "50", status=1, lines=1,
                       says="no number of shots up to 10000 with each set-up is enough. A smaller SD, a finer display or "
                            "asking for less would help")
        data = self.json_of(self.ended(run("plan", "--resolve", "0.1", "--sd", "50", "--json"), 1), "failure")
        self.assertIn("no number of shots", data["problems"][0]["message"])

    def test_more_bows_than_anybody_has(self):
        self.wrong("--kinds", "--bow-sd", "50", "--sd", "1", "--resolve", "0.1", status=1, lines=1,
                   says=("more than 1000 bows of each kind", "would be needed; a larger gap, or kinds whose bows are more alike, "
                        "would help"))

    def test_what_the_display_hides_from_any_number_of_shots(self):
        # With an SD of a tenth of a step the true averages are known to half a step at best: ±0.3 cannot be shown.
        for goal in ("--same-within", "--within"):
            self.wrong(goal, "0.3", "--sd", "0.1", "--max-operations", "1e7", status=1, lines=1,
                       says=("no number of shots up to ", "the display's step hides", "A finer display would help"))
        finer = self.planned("--same-within", "0.3", "--sd", "0.1", "--display", "0.1")
        self.assertNotIn("display_limits", codes(finer))

    def test_an_sd_that_may_be_too_large_is_told_beside_the_answer(self):
        # Two shots six apart leave an SD of 6/√2/0.25 = 17 open: 2·7.85·17²/0.6² = 12600 shots.
        ran = self.answered("plan", "--resolve", "0.6", "--from", self.sheet(a=[271, 277]))
        self.says(ran, "it may be as large as 1")
        self.assertRegex(ran.words, "no number of shots (was found that )?would do")


if __name__ == "__main__":
    main()
