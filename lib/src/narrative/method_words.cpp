#include "method_words.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace shotassay::narrative {

namespace {

using namespace document;

using enum Source;

struct SourceText {
  Source source;
  std::string_view brief, full;
};

// In the order and words of docs/bibliography.md.
constexpr std::array texts{
    SourceText{anaya2016, "Anaya 2016",
               "Anaya J. (2016), The GRIMMER test: a method for testing the validity of reported measures of "
               "variability, PeerJ Preprints 4:e2400v1."},
    SourceText{brown2017, "Brown and Heathers 2017",
               "Brown N. J. L., Heathers J. A. J. (2017), The GRIM test: a simple technique detects numerous anomalies "
               "in the reporting of results in psychology, Social Psychological and Personality Science 8, 363–369."},
    SourceText{david2003, "David and Nagaraja 2003",
               "David H. A., Nagaraja H. N. (2003), Order Statistics, 3rd ed., Wiley."},
    SourceText{
        davison1997, "Davison and Hinkley 1997",
        "Davison A. C., Hinkley D. V. (1997), Bootstrap Methods and their Application, Cambridge University Press."},
    SourceText{
        efron1987, "Efron 1987",
        "Efron B. (1987), Better bootstrap confidence intervals, Journal of the American Statistical Association 82, "
        "171–185."},
    SourceText{efron1993, "Efron and Tibshirani 1993",
               "Efron B., Tibshirani R. J. (1993), An Introduction to the Bootstrap, Chapman & Hall."},
    SourceText{
        ernst2004, "Ernst 2004",
        "Ernst M. D. (2004), Permutation methods: a basis for exact inference, Statistical Science 19, 676–685."},
    SourceText{
        fai1996, "Fai and Cornelius 1996",
        "Fai A. H.-T., Cornelius P. L. (1996), Approximate F-tests of multiple degree of freedom hypotheses in "
        "generalized least squares analyses of unbalanced split-plot experiments, Journal of Statistical Computation "
        "and Simulation 54, 363–378."},
    SourceText{fisher1925, "Fisher 1925",
               "Fisher R. A. (1925), Statistical Methods for Research Workers, Oliver & Boyd."},
    SourceText{fisher1935, "Fisher 1935", "Fisher R. A. (1935), The Design of Experiments, Oliver & Boyd."},
    SourceText{
        games1976, "Games and Howell 1976",
        "Games P. A., Howell J. F. (1976), Pairwise multiple comparison procedures with unequal n's and/or variances, "
        "Journal of Educational Statistics 1, 113–125."},
    SourceText{gum, "JCGM 100:2008",
               "JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in measurement."},
    SourceText{
        gum_s1, "JCGM 101:2008",
        "JCGM 101:2008, Evaluation of measurement data: Supplement 1 to the GUM: Propagation of distributions using a "
        "Monte Carlo method."},
    SourceText{hall1992, "Hall 1992", "Hall P. (1992), The Bootstrap and Edgeworth Expansion, Springer."},
    SourceText{
        holm1979, "Holm 1979",
        "Holm S. (1979), A simple sequentially rejective multiple test procedure, Scandinavian Journal of Statistics "
        "6, 65–70."},
    SourceText{
        imbens2004, "Imbens and Manski 2004",
        "Imbens G. W., Manski C. F. (2004), Confidence intervals for partially identified parameters, Econometrica "
        "72, 1845–1857."},
    SourceText{
        kramer1956, "Kramer 1956",
        "Kramer C. Y. (1956), Extension of multiple range tests to group means with unequal numbers of replications, "
        "Biometrics 12, 307–310."},
    SourceText{
        lee1975, "Lee and Gurland 1975",
        "Lee A. F. S., Gurland J. (1975), Size and power of tests for equality of means of two normal populations with "
        "unequal variances, Journal of the American Statistical Association 70, 933–941."},
    SourceText{patterson1971, "Patterson and Thompson 1971",
               "Patterson H. D., Thompson R. (1971), Recovery of inter-block information when block sizes are unequal, "
               "Biometrika 58, 545–554."},
    SourceText{
        phipson2016, "Phipson and others 2016",
        "Phipson B., Lee S., Majewski I. J., Alexander W. S., Smyth G. K. (2016), Robust hyperparameter estimation "
        "protects against hypervariable genes and improves power to detect differential expression, Annals of Applied "
        "Statistics 10, 946–963."},
    SourceText{
        pitman1937, "Pitman 1937",
        "Pitman E. J. G. (1937), Significance tests which may be applied to samples from any populations, Supplement "
        "to the Journal of the Royal Statistical Society 4, 119–130."},
    SourceText{
        satterthwaite1946, "Satterthwaite 1946",
        "Satterthwaite F. E. (1946), An approximate distribution of estimates of variance components, Biometrics "
        "Bulletin 2, 110–114."},
    SourceText{
        schuirmann1987, "Schuirmann 1987",
        "Schuirmann D. J. (1987), A comparison of the two one-sided tests procedure and the power approach for "
        "assessing the equivalence of average bioavailability, Journal of Pharmacokinetics and Biopharmaceutics 15, "
        "657–680."},
    SourceText{
        sheppard1898, "Sheppard 1898",
        "Sheppard W. F. (1898), On the calculation of the most probable values of frequency-constants, for data "
        "arranged according to equidistant divisions of a scale, Proceedings of the London Mathematical Society 29, "
        "353–380."},
    SourceText{smyth2004, "Smyth 2004",
               "Smyth G. K. (2004), Linear models and empirical Bayes methods for assessing differential expression in "
               "microarray experiments, Statistical Applications in Genetics and Molecular Biology 3, article 3."},
    SourceText{student1908, "Student 1908", "Student (1908), The probable error of a mean, Biometrika 6, 1–25."},
    SourceText{tukey1953, "Tukey 1953",
               "Tukey J. W. (1953), The problem of multiple comparisons, memorandum, Princeton University."},
    SourceText{
        wald1940, "Wald 1940",
        "Wald A. (1940), A note on the analysis of variance with unequal class frequencies, Annals of Mathematical "
        "Statistics 11, 96–100."},
    SourceText{
        welch1947, "Welch 1947",
        "Welch B. L. (1947), The generalization of \"Student's\" problem when several different population variances "
        "are involved, Biometrika 34, 28–35."},
    SourceText{williams1962, "Williams 1962",
               "Williams J. S. (1962), A confidence interval for variance components, Biometrika 49, 278–281."},
};

/// Each stands in its place.
constexpr bool in_order() {
  for (std::size_t i = 0; i < texts.size(); ++i)
    if (texts[i].source != static_cast<Source>(i)) return false;
  return texts.size() == static_cast<std::size_t>(williams1962) + 1;
}
static_assert(in_order());

}  // namespace

MethodWords words_of(Method method, bool family) {
  MethodWords words{.name = std::string{name(method)}, .text = {}, .sources = {}};
  const auto say = [&](std::string text, std::vector<Source> from) {
    words.text = std::move(text);
    words.sources = std::move(from);
  };
  switch (method) {
    case Method::rounding_aware:
      say("The gap between two averages, give or take what the scatter of the shots leaves open (Welch's t), and never "
          "less than what the display leaves open: a reading stands for every speed that rounds to it, so equal "
          "readings do not mean that nothing scatters.",
          {welch1947, gum, imbens2004});
      if (family) words.sources.push_back(games1976);
      break;
    case Method::mean_interval:
      say("Where one average may lie, from the scatter of its shots, as if the display did not round.", {student1908});
      break;
    case Method::welch:
      say("The gap over its standard error, spreads free to differ, readings taken as they stand.",
          {welch1947, satterthwaite1946});
      if (family) words.sources.push_back(games1976);
      break;
    case Method::pooled:
      say("The same, if all set-ups scatter alike.", {student1908});
      if (family) words.sources.insert(words.sources.end(), {tukey1953, kramer1956});
      break;
    case Method::bootstrap_percentile:
      say("The readings are drawn again and again from themselves, with replacement; the range holds the middle of the "
          "gaps that come out.",
          {efron1993});
      break;
    case Method::bootstrap_basic:
      say("The same gaps, mirrored at the gap measured.", {davison1997, hall1992});
      break;
    case Method::bootstrap_bca:
      say("The same gaps, the ends shifted for what is lopsided in them.", {efron1987, efron1993});
      break;
    case Method::bootstrap_t:
      say("The same gaps, each over its own standard error.", {davison1997, hall1992});
      break;
    case Method::permutation:
      say("In how many ways of dealing the readings to the two set-ups the gap comes out as large; the range holds "
          "every "
          "shift that such a test does not speak against.",
          {fisher1935, pitman1937, ernst2004});
      break;
    case Method::round_paired:
      say("Differences within each round, so that what changes from round to round drops out.",
          {student1908, fisher1935, gum, imbens2004});
      break;
    case Method::session_gaps:
      say("One gap a session: how much they differ tells how far the gap holds on another day.", {student1908});
      break;
    case Method::bow_means:
      say("One average a bow, each bow counting once: how much bows of a kind differ tells how far the gap holds for "
          "the "
          "kinds. Never less than shots and display leave open.",
          {student1908});
      break;
    case Method::bow_means_welch:
      say("The same, if the bows of one kind may differ more than those of another.", {welch1947});
      break;
    case Method::mixed:
      say("All shots of all bows at once, with one spread between bows and one between shots (restricted maximum "
          "likelihood), readings taken as they stand.",
          {patterson1971, satterthwaite1946, fai1996, wald1940, williams1962});
      break;
    case Method::moderated:
      say("The scatter of these shots taken together with that of earlier strings of shots, weighed by how alike those "
          "were; set aside where this test's scatter does not fit them.",
          {smyth2004, phipson2016});
      break;
  }
  return words;
}

std::vector<MethodWords> budget_methods(bool trials) {
  std::vector<MethodWords> used{
      {"law of propagation",
       "How much the result moves with each input, times how uncertain that input is: squared and added up, the square "
       "root is the standard uncertainty. The coverage factor is a t quantile, for what is itself known from few "
       "readings.",
       {gum, satterthwaite1946, welch1947}}};
  if (trials)
    used.push_back({"Monte Carlo",
                    "The inputs are drawn at random, each from its distribution, the result is computed each time, and "
                    "the range holds the middle of what comes out.",
                    {gum_s1}});
  return used;
}

std::vector<MethodWords> audit_methods(bool best) {
  std::vector<MethodWords> used{
      {"readings behind figures",
       "Every set of readings on the display's lattice that prints as published was counted, in whole numbers: what is "
       "called impossible is.",
       {brown2017, anaya2016}},
      words_of(Method::rounding_aware, false),
      {"SD that tips the scales",
       "The SD of a shot, the same in both set-ups, at which Welch's range for the printed gap just reaches 0.",
       {welch1947}}};
  if (best)
    used.push_back({"best of several",
                    "What the largest of so many shots lies above their true average by chance, were shots normal.",
                    {david2003}});
  return used;
}

void show_sources(const std::vector<MethodWords>& methods, Document& out) {
  if (methods.empty()) return;
  Points points, full;
  std::vector<Source> named;
  for (const MethodWords& m : methods) {
    std::string text = m.text, from;
    for (const Source key : m.sources) {
      from += (from.empty() ? "" : "; ") + std::string{texts[static_cast<std::size_t>(key)].brief};
      named.push_back(key);
    }
    points.points.push_back({m.name, from.empty() ? text : text + " (" + from + ")"});
  }
  for (const SourceText& s : texts)
    if (std::find(named.begin(), named.end(), s.source) != named.end())
      full.points.push_back({"", std::string{s.full}});
  out.blocks.push_back(Heading{"How this was worked out"});
  out.blocks.push_back(std::move(points));
  out.blocks.push_back(Heading{"Sources"});
  out.blocks.push_back(std::move(full));
}

}  // namespace shotassay::narrative
