#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include <shotassay/records/planned_shot.hpp>

namespace shotassay {

/// What it takes to change from one set-up to another.
enum class Change {
  easy,   ///< take the other bow
  costly  ///< work: turn bolts, press the bow
};

struct FiringSetup {
  std::string name;
  int shots;                        ///< that count, over all its bows
  std::vector<std::string> bows{};  ///< names; empty = one bow
};

struct FiringQuestion {
  std::vector<FiringSetup> setups;
  Change change = Change::easy;
  std::uint64_t seed = 1;
  std::vector<std::string> arrows{};  ///< numbered arrows; empty = not numbered
  std::string check_standard{};       ///< name; empty = none
  int check_shots = 2;                ///< at the start, in the middle and at the end, each
  int warm_ups = 0;                   ///< with each set-up, before anything counts
};

/// In which order shall the shots be fired?
///
/// Easy      blocks of two shots with each set-up, there and back: A-B-B-A, A-B-C-C-B-A; which set-up is A is drawn
/// anew in
///           each block. A drift that is linear in time cancels within each block. An odd number of shots ends in a
///           short block A-B. Blocks are counted on the set-up with the fewest shots; the shots that others have more
///           are spread over the blocks in proportion, there and back as far as odd numbers let them. With two set-ups
///           mean firing positions are equal where both numbers of shots are even, else at most one shot apart.
/// Costly    strings of shots: four with each set-up where each then has two shots or more, else two; one for a single
///           shot (the set-up with the fewest shots decides). A round holds one string of each set-up, in drawn order;
///           the next round goes back: A A A, B B B / B B B, A A A. The set-up is made anew before every string, also
///           where two strings of one set-up meet: the re-setting is the replicate, not the shot.
/// Bows      of a set-up take turns: equal shots within one, over the test and within each round. Which comes when in a
///           round is chosen so that bows share arrows and early places; what is then equal is drawn.
/// Arrows    the i-th shot with each set-up has the same arrow, arrows taken in turn, every turn from one arrow later
/// on:
///           equal shots, equal use. Shots of the check standard have none: it keeps its own.
/// Rounds    are numbered from 1; the check standard's are called start, middle and end; warm-ups have none.
///           Warm-ups come first, the set-up that begins the test last among them. The middle check stands between
///           rounds or at the turning point of one; in a test of one round that does not turn, after half its shots.
///
/// Requires  two set-ups or more with different names, not empty; 1 to 10 000 shots each; within a set-up no bow twice,
///           no arrow twice, none without a name; the check standard named like no set-up, with 1 to 10 000 shots;
///           0 to 10 000 warm-ups. Otherwise DomainError.
/// Random    ReplicateStream(seed, 0, firing_order): the same question, the same order, on every machine.
std::vector<PlannedShot> firing_order(const FiringQuestion& question);

}  // namespace shotassay
