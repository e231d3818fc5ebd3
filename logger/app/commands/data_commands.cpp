// status, import, export: what was recorded, in and out.
#include <fstream>
#include <nlohmann/json.hpp>
#include <ostream>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/export_rows.hpp"
#include "logger/app/commands/job_at.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/status/status_report.hpp"
#include "logger/app/text/listed.hpp"
#include "logger/ingest/csv_import.hpp"

namespace logger::app {

using ingest::CsvDeclaration;
using ingest::CsvImport;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

// Records in one transaction of an import; the whole file is some tens of them.
constexpr std::size_t kImportBatch = 5000;

Result<const JobBox*> chosen_box(const Job& job, const std::string& option) {
  if (option.empty() && job.boxes.size() == 1) {
    return &job.boxes.front();
  }
  if (const JobBox* box = find_box(job, option)) {
    return box;
  }
  return failure(ErrorCode::invalid_input,
                 (option.empty() ? "--box is needed" : "box `" + option + "` is not in job.json") +
                     std::string("; it has ") + listed(job.boxes, &JobBox::id));
}

Result<CsvDeclaration> declaration_from(const JobBox& box, const path& file) {
  if (!box.csv) {
    return failure(ErrorCode::invalid_input,
                   "box " + box.id +
                       " is polled over its port; only a box with `csv` in job.json "
                       "takes imports");
  }
  CsvDeclaration declaration;
  declaration.file = file.string();
  declaration.time_column = box.csv->time_column;
  declaration.time_format = box.csv->time_format;
  declaration.separator = box.csv->separator;
  declaration.decimal = box.csv->decimal;
  if (!box.csv->time_zone.empty()) {
    const auto offset = ingest::zone_offset_from_text(box.csv->time_zone);
    if (!offset) {
      return failure(ErrorCode::invalid_input,
                     "time_zone `" + box.csv->time_zone + "`; expected Z or an offset as +02:00");
    }
    declaration.zone_offset = *offset;
  }
  for (const JobChannel& channel : box.channels) {
    const auto unit = ingest::csv_unit_from_name(channel.csv_unit);
    if (!unit) {
      return failure(ErrorCode::invalid_input, "channel " + channel.id + ": csv_unit `" +
                                                   channel.csv_unit + "` is not known");
    }
    declaration.channels.push_back({channel.index, channel.csv_column, *unit,
                                    channel.scale.units_per_count, channel.scale.low,
                                    channel.scale.high});
  }
  return declaration;
}

// The records in transactions of bounded size. An import may be repeated, whole or in part.
Result<store::CommitCounts> commit_import(store::ReadingStore& store, const std::string& box_id,
                                          const CsvImport& import, Micros time_error) {
  store::CommitCounts total;
  for (std::size_t begin = 0; begin < import.records.size(); begin += kImportBatch) {
    const std::size_t end = std::min(begin + kImportBatch, import.records.size());
    store::BoxBatch box;
    box.box_id = box_id;
    box.records.assign(import.records.begin() + static_cast<std::ptrdiff_t>(begin),
                       import.records.begin() + static_cast<std::ptrdiff_t>(end));
    for (const auto& exchange : ingest::exchanges_for_import(box.records, time_error)) {
      box.exchanges.emplace_back(0, exchange);
    }
    store::CommitBatch batch;
    batch.boxes.push_back(std::move(box));
    const auto counts = store.commit(batch);
    if (!counts) {
      return store::Failure{counts.error()};
    }
    total.inserted += counts.value().inserted;
    total.repeated += counts.value().repeated;
    total.conflicting.insert(total.conflicting.end(), counts.value().conflicting.begin(),
                             counts.value().conflicting.end());
  }
  return total;
}

// Late data changes what was computed before: every room the box is in is replayed.
Result<void> replay_rooms(OpenedJob& opened, const std::string& box_id,
                          const std::string& detail_json) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  store::CommitBatch batch;
  batch.events.push_back({0, opened.now, "import", box_id, detail_json});
  for (const JobRoom& room : opened.job.rooms) {
    const auto boxes = boxes_of_room(opened.job, room.id);
    if (std::find(boxes.begin(), boxes.end(), box_id) == boxes.end()) {
      continue;
    }
    const auto tracker =
        RoomTracker::rebuild(*opened.store, opened.job, room, records.value(), std::nullopt);
    if (!tracker) {
      return store::Failure{tracker.error()};
    }
    batch.accounts.push_back(tracker.value().account());
  }
  const auto committed = opened.store->commit(batch);
  return committed ? Result<void>{} : store::Failure{committed.error()};
}

void print_import(const CsvImport& import, const store::CommitCounts& counts, const JobBox& box,
                  const ImportOptions& options, const Console& console) {
  const std::string file = options.file.string();
  console.out << file << ": " << import.rows << (import.rows == 1 ? " row, " : " rows, ")
              << counts.inserted << " new records, " << counts.repeated << " known already\n";
  if (import.repeated_rows + import.backward_rows > 0) {
    console.out << "  repeated rows " << import.repeated_rows << ", rows out of order "
                << import.backward_rows << " (sorted)\n";
  }
  for (std::size_t i = 0; i < import.channels.size(); ++i) {
    const auto& channel = import.channels[i];
    using analysis::readiness::text_from_number;
    console.out << "  channel " << box.channels[i].id << ": " << channel.values << " values, "
                << channel.empty_cells << " empty, " << channel.off_grid_values
                << " rounded to whole counts";
    if (channel.values > 0) {
      console.out << ", lowest " << text_from_number(channel.lowest) << ' ' << channel.unit
                  << ", highest " << text_from_number(channel.highest) << ' ' << channel.unit;
    }
    console.out << '\n';
  }
  for (const std::string& column : import.ignored_columns) {
    console.out << "  column `" << column << "` is not declared and was left out\n";
  }
  if (!import.conflicts.empty()) {
    const auto& first = import.conflicts.front();
    console.err << "dwellog: " << file << ':' << first.line << ": same time as line "
                << first.kept_line << " with other values; the earlier line is kept ("
                << import.conflicts.size() << " such rows)\n";
  }
  if (!counts.conflicting.empty()) {
    const auto at = [](const store::RecordRef& record) {
      return analysis::base::rfc3339_from_utc(UtcMicros{record.id.sequence * 1000});
    };
    console.err << "dwellog: " << file << ": " << counts.conflicting.size()
                << " rows are stored already with other values, the stored ones are kept: "
                << at(counts.conflicting.front()) << " to " << at(counts.conflicting.back())
                << '\n';
  }
}

}  // namespace

int status(const StatusOptions& options, const Console& console) {
  auto job = job_at(options.job_dir, options.at);
  if (!job) {
    return report(console, job.error());
  }
  const auto made = status_report_from(job.value().opened, job.value().at);
  if (!made) {
    return report(console, made.error());
  }
  console.out << (options.json ? json_from_status(made.value())
                               : text_from_status(made.value(), options.imperial));
  return exit_status_of(made.value());
}

int import_csv(const ImportOptions& options, const Console& console) {
  auto opened = open_job(options.job_dir, true);
  if (!opened) {
    return report(console, opened.error());
  }
  const auto box = chosen_box(opened.value().job, options.box);
  if (!box) {
    return report(console, box.error());
  }
  const auto declaration = declaration_from(*box.value(), options.file);
  if (!declaration) {
    return report(console, declaration.error());
  }
  const auto text = read_file(options.file);
  if (!text) {
    return report(console, text.error());
  }
  const auto import = ingest::records_from_csv(text.value(), declaration.value());
  if (!import) {
    return report(console, import.error());
  }
  const UtcMicros newest{
      import.value().records.empty() ? 0 : import.value().records.back().ticks_ms * 1000};
  if (newest > opened.value().now) {
    return report(console, {ErrorCode::invalid_input,
                            options.file.string() + ": its newest row is of " +
                                analysis::base::rfc3339_from_utc(newest) +
                                ", after now; check year, zone and that logger's clock. Nothing "
                                "was imported",
                            0});
  }
  store::ReadingStore& store = *opened.value().store;
  const auto marked = store.mark_simulated(opened.value().simulated);
  const Micros time_error{static_cast<std::int64_t>(options.time_error_seconds * 1e6)};
  const auto counts = marked ? commit_import(store, box.value()->id, import.value(), time_error)
                             : store::Failure{marked.error()};
  if (!counts) {
    return report(console, counts.error());
  }
  const auto replayed = replay_rooms(opened.value(), box.value()->id,
                                     nlohmann::json{{"inserted_records", counts.value().inserted},
                                                    {"file_sha256", sha256_hex_of(text.value())},
                                                    {"time_error_us", time_error.count()}}
                                         .dump());
  if (!replayed) {
    return report(console, replayed.error());
  }
  print_import(import.value(), counts.value(), *box.value(), options, console);
  return counts.value().conflicting.empty() && import.value().conflicts.empty() ? kExitDone
                                                                                : kExitInput;
}

int export_csv(const ExportOptions& options, const Console& console) {
  auto opened = open_job(options.job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  const auto box = chosen_box(opened.value().job, options.box);
  const auto from = moment_from_option("--from", options.from);
  const auto to = moment_from_option("--to", options.to);
  if (!box || !from || !to) {
    return report(console, !box ? box.error() : !from ? from.error() : to.error());
  }
  if (std::string(",;|\t").find(options.separator) == std::string::npos ||
      std::string(".,").find(options.decimal) == std::string::npos ||
      options.separator == options.decimal) {
    return report(console, {ErrorCode::invalid_input,
                            "--separator and --decimal: expected one of , ; | tab and one of . , "
                            "and not the same for both",
                            0});
  }
  if (from.value() && to.value() && *from.value() > *to.value()) {
    return report(console, {ErrorCode::invalid_input, "--from is later than --to", 0});
  }
  const ExportQuery query{box.value(), from.value(), to.value(), options.separator,
                          options.decimal};
  if (options.output.empty()) {
    const auto written = write_export(opened.value(), query, console.out);
    return written ? kExitDone : report(console, written.error());
  }
  // Never over something that is there: it may be the job's own key or store.
  std::error_code error;
  if (std::filesystem::exists(options.output, error)) {
    return report(console, {ErrorCode::invalid_input,
                            options.output.string() + " is there already; name a new file", 0});
  }
  std::ofstream file(options.output, std::ios::binary | std::ios::trunc);
  const auto written = write_export(opened.value(), query, file);
  file.flush();
  if (!written || !file) {
    std::filesystem::remove(options.output, error);
    return report(console, !written ? written.error()
                                    : store::Error{ErrorCode::io,
                                                   "cannot write " + options.output.string(), 0});
  }
  console.err << options.output.string() << ": " << written.value() << " records\n";
  return kExitDone;
}

}  // namespace logger::app
