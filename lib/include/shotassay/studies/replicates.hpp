#pragma once
#include <vector>

#include <shotassay/core/sample.hpp>
#include <shotassay/methods/drift.hpp>
#include <shotassay/methods/round_paired.hpp>
#include <shotassay/methods/session_gaps.hpp>
#include <shotassay/studies/comparison.hpp>

namespace shotassay {

/// What is repeated in a test, so that a claim may rest on it: shots, rounds, sessions, bows.

/// The shots of each bow, in order of first appearance; one group of all where no bow is named, none without a shot.
std::vector<Sample> bows_of(const ComparedSetup& setup);

/// Rounds in which both set-ups have a shot. Shots that name no round are in none.
std::vector<Round> rounds_of(const ComparedSetup& from, const ComparedSetup& to);

/// Sessions in which both set-ups have two shots or more; empty unless shots name sessions.
std::vector<Session> sessions_of(const ComparedSetup& from, const ComparedSetup& to);

/// The readings with their places in the firing order; empty where it is not known.
std::vector<OrderedShots> ordered_shots(const std::vector<ComparedSetup>& setups);

}  // namespace shotassay
