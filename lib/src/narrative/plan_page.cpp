#include <shotassay/narrative/plan.hpp>

#include "method_words.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

MethodWords chances(PlannedInterval interval) {
  if (interval == PlannedInterval::welch)
    return {"chances",
            "How often Welch's range, worked out as compare does, keeps the promise when normal shots are read without "
            "rounding.",
            {Source::welch1947, Source::lee1975}};
  return {
      "chances",
      "How often the range that compare will give keeps the promise, over all readings that normal shots can give on "
      "this display.",
      {Source::welch1947, Source::lee1975, Source::gum}};
}

std::vector<MethodWords> methods(PlannedInterval interval, const SdSource& sd) {
  std::vector<MethodWords> used{chances(interval)};
  if (sd.origin == SdOrigin::sheet)
    used.push_back(
        {"the largest SD",
         "How much shots may scatter at most, from the few readings of an earlier sheet: so much that readings "
         "as close as those would be rare.",
         {Source::sheppard1898}});
  return used;
}

Document with_sources(Document document, const std::vector<MethodWords>& used) {
  show_sources(used, document);
  return document;
}

}  // namespace

Document plan_page(const PlanStory& story) {
  return with_sources(plan_document(story), methods(story.plan.question.how.interval, story.sd));
}

Document plan_page(const SplitStory& story) {
  return with_sources(plan_document(story), methods(story.plan.question.how.interval, story.sd));
}

Document plan_page(const BowPlanStory& story) {
  return with_sources(
      plan_document(story),
      {{"chances",
        "How often a t test of the bows' averages, each bow counting once, finds the gap when bows of one "
        "kind and shots of one bow scatter as said.",
        {Source::student1908, Source::satterthwaite1946}}});
}

}  // namespace shotassay::narrative
