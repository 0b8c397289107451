#include "audit_table.hpp"

#include <unistd.h>

#include <chrono>
#include <condition_variable>
#include <cstdio>
#include <deque>
#include <exception>
#include <memory>
#include <mutex>
#include <optional>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/claim_row.hpp>
#include <thread>
#include <utility>
#include <vector>

#include "interruptions.hpp"
#include "output_file.hpp"

namespace shotassay::cli {

namespace {

constexpr std::size_t rows_of_batch = 64;

/// Claims that go together through a thread, and the text that comes out.
struct Batch {
  std::vector<ClaimRow> claims;
  std::string text;
  std::size_t wrong_rows = 0, first_wrong_line = 0;
  std::exception_ptr failure;
  bool done = false;
};

void audit_batch(Batch& batch, ClaimAuditor& auditor, const narrative::TableForm& form) {
  try {
    for (const ClaimRow& claim : batch.claims) {
      const AuditedClaim audited = auditor(claim);
      narrative::append_claim_row(batch.text, audited, form);
      if (!audited.problems.empty() && batch.wrong_rows++ == 0) batch.first_wrong_line = audited.line;
    }
  } catch (...) {
    batch.failure = std::current_exception();
  }
}

/// Threads that audit batches; what was handed in first is taken out first.
class Auditors {
 public:
  Auditors(unsigned threads, const ClaimRules& rules, const narrative::TableForm& form)
      : most_{std::size_t{4} * threads} {
    const ClaimAuditor first{rules};
    try {
      for (unsigned i = 0; i < threads; ++i)
        threads_.emplace_back([this, auditor = std::shared_ptr{first.another()}, form] { work(*auditor, form); });
    } catch (...) {  // no memory for one more: those begun must end first
      end();
      throw;
    }
  }
  ~Auditors() { end(); }
  Auditors(const Auditors&) = delete;
  Auditors& operator=(const Auditors&) = delete;

  bool full() const { return order_.size() >= most_; }
  bool empty() const { return order_.empty(); }

  void hand_in(std::vector<ClaimRow> claims) {
    order_.push_back(std::make_unique<Batch>());
    order_.back()->claims = std::move(claims);
    {
      const std::lock_guard lock{mutex_};
      waiting_.push_back(order_.back().get());
    }
    changed_.notify_all();
  }

  /// The oldest batch, once it is done.
  std::unique_ptr<Batch> take_out() {
    {
      std::unique_lock lock{mutex_};
      changed_.wait(lock, [this] { return order_.front()->done; });
    }
    std::unique_ptr<Batch> oldest = std::move(order_.front());
    order_.pop_front();
    if (oldest->failure) std::rethrow_exception(oldest->failure);
    return oldest;
  }

 private:
  void end() {
    {
      const std::lock_guard lock{mutex_};
      waiting_.clear();
      ended_ = true;
    }
    changed_.notify_all();
    for (std::thread& thread : threads_) thread.join();
  }

  void work(ClaimAuditor& auditor, const narrative::TableForm& form) {
    std::unique_lock lock{mutex_};
    for (;;) {
      changed_.wait(lock, [this] { return ended_ || !waiting_.empty(); });
      if (waiting_.empty()) return;
      Batch& batch = *waiting_.front();
      waiting_.pop_front();
      lock.unlock();
      audit_batch(batch, auditor, form);
      lock.lock();
      batch.done = true;
      changed_.notify_all();
    }
  }

  std::size_t most_;
  std::deque<std::unique_ptr<Batch>> order_;  ///< all that were handed in and not taken out; of the owner alone
  std::mutex mutex_;                          ///< of what follows, and of Batch::done
  std::condition_variable changed_;
  std::deque<Batch*> waiting_;
  bool ended_ = false;
  std::vector<std::thread> threads_;
};

/// A line on the terminal that says how far it has come.
class Progress {
 public:
  Progress(const Input& input, bool answer_on_terminal)
      : input_{input}, shown_{::isatty(STDERR_FILENO) == 1 && !answer_on_terminal} {}
  ~Progress() {
    if (drawn_) std::fputs("\r\x1b[K", stderr);
  }
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  void rows_done(std::size_t rows) {
    rows_ += rows;
    const auto now = std::chrono::steady_clock::now();
    if (!shown_ || now - last_ < std::chrono::milliseconds{250}) return;
    last_ = now;
    drawn_ = true;
    const double seconds = std::chrono::duration<double>(now - start_).count();
    std::string share;
    if (const auto size = input_.size(); size && *size > 0)
      share = ", " + std::to_string(100 * input_.bytes_read() / *size) + " %";
    std::fprintf(stderr, "\r\x1b[K%zu rows%s, %.0f a second", rows_, share.c_str(),
                 static_cast<double>(rows_) / seconds);
  }

 private:
  const Input& input_;
  bool shown_, drawn_ = false;
  std::size_t rows_ = 0;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now(), last_ = start_;
};

std::vector<ClaimRow> next_claims(ClaimTableReader& reader) {
  std::vector<ClaimRow> claims;
  while (claims.size() < rows_of_batch) {
    auto claim = reader.next();
    if (!claim) break;
    claims.push_back(std::move(*claim));
  }
  return claims;
}

void require_header(const ClaimTableReader& reader, const Input& input, const AuditTableOptions& options) {
  Stop stopped{bad_input, {}};
  for (const Problem& problem : reader.problems()) stopped.problems.push_back({input.name(), problem});
  if (stopped.problems.empty() && !reader.has_column("shots_1") && !options.rules.shots)
    stopped.problems.push_back({input.name(),
                                {.line = 0,
                                 .column = "shots_1",
                                 .found = {},
                                 .message = "a table of claims needs this column, or --shots for all its rows"}});
  if (!stopped.problems.empty()) throw stopped;
}

void say_ignored_columns(const ClaimTableReader& reader, const Input& input) {
  std::string names;
  for (const std::string& name : reader.ignored_columns()) names += (names.empty() ? "" : ", ") + name;
  if (names.empty()) return;
  const std::string text = input.name() + ": passed over, no columns of a table of claims: " + names;
  std::fprintf(stderr, "shotassay: %s\n", document::printable(text).c_str());
}

}  // namespace

ExitStatus audit_table(const AuditTableOptions& options) {
  const bool to_file = options.out != "-";
  const OutputFile file{.option = "--out", .name = options.out, .overwrite = options.force};
  if (to_file) {
    require_free(file);
    if (options.table != "-" && same_place(file, {.option = "--table", .name = options.table, .overwrite = false}))
      throw stop(wrong_use, "--out " + options.out + ": this is the table itself");
  }
  Input input{options.table};
  ClaimTableReader reader{input};
  require_header(reader, input, options);

  std::size_t rows = 0, wrong_rows = 0, first_wrong_line = 0;
  {
    const Interruptions interruptions;
    std::optional<Draft> draft;
    if (to_file) draft.emplace(file);
    const auto put = [&](const std::string& text) { draft ? draft->append(text) : print(text); };
    say_ignored_columns(reader, input);

    // The first rows tell which decimal mark the table has, before anything is written.
    std::vector<ClaimRow> claims = next_claims(reader);
    const char separator = reader.separator();
    const narrative::TableForm form{.separator = separator,
                                    .decimal_mark = reader.decimal_mark().value_or(separator == ';' ? ',' : '.')};
    put(narrative::claim_row_header(form));
    Progress progress{input, !to_file && ::isatty(STDOUT_FILENO) == 1};
    Auditors auditors{options.threads, options.rules, form};
    while (!Interruptions::noted() && (!claims.empty() || !auditors.empty())) {
      if (!claims.empty() && !auditors.full()) {
        auditors.hand_in(std::move(claims));
        claims = next_claims(reader);
        continue;
      }
      const auto batch = auditors.take_out();
      put(batch->text);
      rows += batch->claims.size();
      progress.rows_done(batch->claims.size());
      if (batch->wrong_rows > 0 && wrong_rows == 0) first_wrong_line = batch->first_wrong_line;
      wrong_rows += batch->wrong_rows;
    }
    if (draft && !Interruptions::noted()) {
      draft->finish();
      if (!Interruptions::noted()) draft->keep();
    }
  }
  if (wrong_rows == 0) return answered;
  Stop stopped{bad_input,
               {{input.name(),
                 {.line = first_wrong_line,
                  .column = {},
                  .found = {},
                  .message = std::to_string(wrong_rows) + " of " + std::to_string(rows) +
                             " rows could not be read, this one first; the column problem says why"}}},
               true};
  throw stopped;
}

}  // namespace shotassay::cli
