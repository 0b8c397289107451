#!/usr/bin/env python3
"""shotassay plan: its three questions, against Welch's test worked by another way."""

import math

import scipy.integrate
import scipy.stats

from program import ProgramTest, codes, main


class WelchTwo:
    """Welch's test of n and n normal shots of one SD, by conditioning on where the two sample variances split.

    With u = s_a²/(s_a² + s_b²) the sum of the variances is independent of u, so t is noncentral t with 2(n−1) degrees of
    freedom, and only its critical value, by Satterthwaite's ν = (n−1)/(u² + (1−u)²), depends on u; u is Beta((n−1)/2,
    (n−1)/2). The program integrates over both variances another way.
    """

    def __init__(self, n, sd, confidence=0.95):
        self.n, self.tail, self.se = n, (1 - confidence) / 2, sd * math.sqrt(2 / n)

    def over_splits(self, function):
        half = (self.n - 1) / 2
        law = scipy.stats.beta(half, half)

        def integrand(angle):  # u = sin² takes the poles of the density at both ends, n = 2, away
            u = math.sin(angle) ** 2
            freedom = (self.n - 1) / (u * u + (1 - u) ** 2)
            weight = law.pdf(u) * 2 * math.sin(angle) * math.cos(angle)
            return weight * function(scipy.stats.t.isf(self.tail, freedom))

        return scipy.integrate.quad(integrand, 1e-9, math.pi / 2 - 1e-9, epsabs=1e-9, epsrel=1e-9, limit=200)[0]

    def power(self, gap):
        law = scipy.stats.nct(2 * (self.n - 1), gap / self.se)
        return self.over_splits(lambda critical: law.sf(critical) + law.cdf(-critical))

    def half_width(self):
        freedom = 2 * (self.n - 1)  # mean of √(χ²/freedom)
        root = math.sqrt(2 / freedom) * math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2))
        return self.over_splits(lambda critical: critical) * self.se * root


def readings_sd(sd, step=1.0):
    return math.sqrt(sd * sd + step * step / 12)


class Questions(ProgramTest):
    def test_shots_for_a_gap_are_the_fewest_that_reach_the_power(self):
        result = self.planned("--resolve", "3", "--sd", "1.2")["result"]
        shots, sd = result["design"]["from"]["shots"], readings_sd(1.2)
        self.assertEqual(result["question"], "shots")
        self.assertGreaterEqual(WelchTwo(shots, sd).power(3), 0.8)
        self.assertLess(WelchTwo(shots - 1, sd).power(3), 0.8)
        self.assertAlmostEqual(result["achieved"]["power"], WelchTwo(shots, sd).power(3), delta=1e-6)
        self.assertAlmostEqual(result["achieved"]["half_width"], WelchTwo(shots, sd).half_width(), delta=1e-5)
        self.assertEqual(result["design"], {"from": {"bows": 1, "shots": shots}, "to": {"bows": 1, "shots": shots},
                                            "total_shots": 2 * shots})

    def test_gap_for_a_number_of_shots_is_found_with_the_power(self):
        result = self.planned("--shots", "3", "--sd", "1.2")["result"]
        self.assertEqual(result["question"], "gap")
        self.assertIsNone(result["achieved"]["power"])
        self.assertAlmostEqual(WelchTwo(3, readings_sd(1.2)).power(result["achieved"]["detectable_gap"]), 0.8, delta=1e-6)

    def test_power_of_shots_for_a_gap(self):
        result = self.planned("--shots", "6", "--resolve", "3", "--sd", "1.2")["result"]
        self.assertEqual(result["question"], "power")
        self.assertAlmostEqual(result["achieved"]["power"], WelchTwo(6, readings_sd(1.2)).power(3), delta=1e-6)

    def test_every_row_of_the_table_by_the_other_way(self):
        result = self.planned("--shots", "4", "--resolve", "2", "--sd", "1.5")["result"]
        for row in result["table"]:
            test = WelchTwo(row["shots"], readings_sd(1.5))
            self.assertAlmostEqual(row["power"], test.power(2), delta=2e-6)
            self.assertAlmostEqual(row["half_width"] / test.half_width(), 1, delta=1e-5)
            self.assertAlmostEqual(test.power(row["detectable_gap"]), 0.8, delta=2e-6)
        self.assertIn(4, [row["shots"] for row in result["table"]])

    def test_power_and_confidence_are_used(self):
        for power, confidence in (("0.9", "0.95"), ("0.8", "0.9"), ("0.5", "0.99")):
            result = self.planned("--shots", "5", "--sd", "1.2", "--power", power, "--confidence", confidence)["result"]
            test = WelchTwo(5, readings_sd(1.2), float(confidence))
            self.assertAlmostEqual(test.power(result["achieved"]["detectable_gap"]), float(power), delta=1e-6)
            self.assertEqual((result["power"], result["confidence"]), (float(power), float(confidence)))

    def test_display_adds_a_twelfth_of_its_square(self):
        coarse = self.planned("--shots", "5", "--sd", "1.2", "--display", "2")["result"]
        fine = self.planned("--shots", "5", "--sd", "1.2", "--display", "0.01")["result"]
        for result, step in ((coarse, 2), (fine, 0.01)):
            test = WelchTwo(5, readings_sd(1.2, step))
            self.assertAlmostEqual(test.power(result["achieved"]["detectable_gap"]), 0.8, delta=1e-6)

    def test_unit_names_the_speeds_typed(self):
        result = self.planned("--resolve", "1", "--sd", "0.4", "--display", "0.1", "--unit", "m/s")["result"]
        self.assertEqual(result["unit"], "m/s")
        self.says(self.answered("plan", "--resolve", "1", "--sd", "0.4", "--display", "0.1", "--unit", "m/s"), "1 m/s")


class Said(ProgramTest):
    def test_sentence_can_be_said_aloud(self):
        shots = self.planned("--resolve", "3", "--sd", "1.2")["result"]["design"]["from"]["shots"]
        ran = self.answered("plan", "--resolve", "3", "--sd", "1.2")
        self.assertTrue(ran.out.startswith(f"Shoot {shots} shots with each of the two set-ups"), ran.out)

    def test_open_is_not_no_difference(self):
        for words in (("--resolve", "3"), ("--shots", "3"), ("--shots", "6", "--resolve", "3")):
            self.says(self.answered("plan", *words, "--sd", "1.2"), 'not "no difference"')

    def test_whose_gap_it_will_be_and_what_to_take_care_of(self):
        for words in (("--resolve", "3"), ("--shots", "3"), ("--shots", "6", "--resolve", "3")):
            self.says(self.answered("plan", *words, "--sd", "1.2"), "The gap will belong to the two specimens shot",
                      "Never dry-fire", "minimum arrow mass and bolt limits", "qualified technician", "backstop",
                      "nobody forward of the line", "eye protection", "Stop when tired", "Range rules and local law")

    def test_sd_below_half_a_step_is_said_to_be_beyond_these_figures(self):
        self.assertIn("display_limits", codes(self.planned("--resolve", "3", "--sd", "0.7")))
        self.assertNotIn("display_limits", codes(self.planned("--resolve", "3", "--sd", "0.8")))
        self.says(self.answered("plan", "--resolve", "3", "--sd", "0.4"), "these figures are too hopeful")


class NoAnswerAndWrongUse(ProgramTest):
    def test_more_shots_than_anybody_shoots_is_no_answer(self):
        ran = self.refused(1, "plan", "--resolve", "0.1", "--sd", "50")
        self.complains(ran, "10000")

    def test_what_must_be_said(self):
        ran = self.refused(2, "plan")
        self.complains(ran, "--sd", "--resolve or --shots")
        self.complains(self.refused(2, "plan", "--resolve", "3"), "say how much shots scatter, for example --sd 1.2")
        self.complains(self.refused(2, "plan", "--sd", "1.2"), "say the gap to find, the shots you have, or both")

    def test_values_that_cannot_be(self):
        for option, value, message in (("--resolve", "0", "must be more than 0"), ("--resolve", "-3", "must be more than 0"),
                                       ("--resolve", "three", "not a number"), ("--shots", "1", "whole number from 2"),
                                       ("--shots", "2.5", "whole number from 2"), ("--shots", "1e6", "to 10000"),
                                       ("--shots", "-4", "whole number"), ("--sd", "0", "must be more than 0"),
                                       ("--sd", "-1", "must be more than 0"), ("--sd", "nan", "not a number"),
                                       ("--sd", "1,2", "not a number"), ("--power", "80", "between 0 and 1"),
                                       ("--power", "1", "between 0 and 1"), ("--power", "0", "between 0 and 1"),
                                       ("--confidence", "95", "for 95 % write 0.95"), ("--display", "0", "positive"),
                                       ("--display", "one", "positive decimal number"), ("--unit", "mph", "fps or m/s")):
            with self.subTest(option=option, value=value):
                given = {"--resolve": "3", "--sd": "1.2"} | {option: value}
                words = [word for pair in given.items() for word in pair]
                ran = self.refused(2, "plan", *words)
                self.complains(ran, f"{option} {value}: ", message)

    def test_whole_numbers_may_be_written_with_an_exponent(self):
        self.assertEqual(self.planned("--shots", "1e1", "--sd", "1.2")["result"],
                         self.planned("--shots", "10", "--sd", "1.2")["result"])

    def test_a_gap_that_the_display_cannot_tell(self):
        self.complains(self.refused(2, "plan", "--resolve", "0.05", "--sd", "1.2"), "tenth of the display step")

    def test_a_power_that_chance_alone_reaches(self):
        self.complains(self.refused(2, "plan", "--resolve", "3", "--sd", "1.2", "--power", "0.05"), "power")

    def test_a_word_too_many(self):
        self.complains(self.refused(2, "plan", "--resolve", "3", "--sd", "1.2", "sheet.csv"), "sheet.csv", "one too many")


if __name__ == "__main__":
    main()
