#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/records/clinic_files.hpp>
#include <shotassay/studies/clinic.hpp>

/// A coach's evening about luck, in words.
namespace shotassay::narrative {

/// A file of a lesson, and what it is for.
struct LessonFile {
  std::string name;
  std::string purpose;
};

/// A lesson and what has to be known to speak of it.
struct LessonStory {
  const Lesson& lesson;
  SpeedUnit unit;
  std::string sheet;                   ///< whose SD and display it has, as typed; empty = entered
  std::string folder;                  ///< as typed
  std::vector<LessonFile> files = {};  ///< in it
};

// For the class: a page a student, then a page each. None of them gives an answer away.
document::Document luck_handouts(const LessonStory& story);
document::Document sizes_handout(const LessonStory& story);
document::Document displays_handout(const LessonStory& story);
document::Document fooling_handout(const LessonStory& story);

/// For the wall, after each exercise: what came out, and what it means.
document::Document projector_page(const LessonStory& story);

/// For the coach alone: the evening's course, and the truth behind every test.
document::Document lesson_key(const LessonStory& story);

/// What was written where, and what comes next.
document::Document lesson_document(const LessonStory& story);
document::Data lesson_data(const LessonStory& story);
std::vector<Note> lesson_notes(const LessonStory& story);

/// What the class said, beside what the tool says, with what a long series of such tests gives.
struct TallyStory {
  const ClassTally& tally;
  const ClinicKey& key;
  const LuckSeries& series;
  std::vector<std::string> ignored_columns = {};
};

document::Document tally_document(const TallyStory& story);
document::Data tally_data(const TallyStory& story);
std::vector<Note> tally_notes(const TallyStory& story);

/// A series of simulated tests, or one of them with the counts so far.
struct SeriesStory {
  const ClinicQuestion& question;
  SpeedUnit unit;
  const LuckSeries& series;
};

document::Document series_document(const SeriesStory& story);
document::Data series_data(const SeriesStory& story);
std::vector<Note> series_notes(const SeriesStory& story);

/// The newest test of a demonstration, its truth, and the counts up to it.
document::Document series_step(const SeriesStory& story, const ClinicTest& newest);

/// Texts and settings of the page to play with; its script fills in {gap} and the like.
document::Document page_written(const std::string& file);
document::Data clinic_page_texts(SpeedUnit unit, ConfidenceLevel level);

}  // namespace shotassay::narrative
