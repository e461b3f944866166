// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright tanks`: change-over, purge, mixing and the shortest trip of a two-tank vehicle.
#include "oilwright/two_tank.h"

#include "progress.h"
#include "study.h"

static const char usage[] =
    "Usage: oilwright tanks RIG [options]\n"
    "\n"
    "For a vehicle with two tanks: when it can change over, how long and how much the purge takes, what the "
    "return\n"
    "mixes into each tank, and from which trip on the change-over is worth it. Uses the drive of the rig "
    "file.\n"
    "\n"
    "  --soak T            all oil and metal at key on (ambient of the rig)\n"
    "  --oil NAME=OIL      another fluid, see oilwright morning --help\n"
    "  --set KEY=VALUE     change any value of the file; may be given more than once\n"
    "  --progress-fd N     writes the share done, a line a per cent, on this open descriptor\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --json              write all of it as JSON\n"
    "\n"
    "Ends with 0: every limit is met; 1: a limit is broken; 2: the call or the input is wrong; 3: output "
    "could not be\n"
    "written.\n";

static json_t *time_json(double s) {
    return s >= 0.0 ? ow_study_real(s) : json_null();
}

static json_t *study_json(const OwTwoTankStudy *s) {
    return json_pack(
        "{s:s, s:i, s:s, s:s, s:o, s:s, s:s, s:f, s:o, s:o, s:o, s:f, s:o, s:o, s:f, s:f, s:f, s:f, s:f, "
        "s:f, "
        "s:f, s:o}",
        "format", "oilwright-tanks", "format_version", 1, "rig", s->rig->name, "headline", s->headline,
        "valve", ow_study_part(s->rig, s->valve), "starts_on", s->rig->fluid_name[s->start_fluid],
        "changes_to", s->rig->fluid_name[s->other_fluid], "line_m3", s->line_m3, "start_s",
        time_json(s->start_s), "change_s", time_json(s->change_s), "changed_s", time_json(s->gallery_s),
        "change_m3", s->change_m3, "purge_s", time_json(s->purge_s), "purged_s", time_json(s->purged_s),
        "purged_m3", s->purged_m3, "left_share", s->left_share, "mixed_first_m3", s->mixed_m3[0],
        "mixed_second_m3", s->mixed_m3[1], "shortest_trip_s", s->shortest_s, "worth_trip_s", s->worth_s,
        "worth_trip_m", s->worth_m, "findings", ow_study_findings(s->rig, s->findings, s->finding_count));
}

static int answer(OwStudyCall *call, const OwTwoTankStudy *study) {
    const int code = ow_study_code(study->findings, study->finding_count);
    if (call->is_json) {
        return ow_study_json(ow_study_cautious(study_json(study)), code);
    }
    ow_report_paragraph(&call->report, study->headline, 0);
    ow_report_line(&call->report, "%s", "");
    ow_study_text(&call->report, study->findings, study->finding_count);
    ow_study_caution(&call->report);
    const int written = ow_cli_finish(stdout, "the standard output");
    return written != OW_CLI_GOOD ? written : code;
}

int ow_cli_tanks(int argc, char **argv) {
    OwStudyCall call = {.verb = "tanks",
                        .extra = {{.name = "--progress-fd", .has_value = true, .most = 1}},
                        .extra_count = 1};
    OwProgressOut progress;
    int code = OW_CLI_USAGE;
    OwFaults faults = {0};
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    if (ow_study_open(&call, usage, argc, argv, &code)) {
        if (!ow_progress_open(call.verb, ow_study_option(&call, "--progress-fd"), &progress)) {
            code = OW_CLI_USAGE;
        } else if (call.rig->fluid_count < 2) {
            fprintf(stderr, "oilwright tanks: %s holds one fluid only: there is nothing to change over\n",
                    call.rig->name);
            code = OW_CLI_USAGE;
        } else {
            call.settings.max_samples = 8192; // purges are short beside a drive
            if (progress.fd >= 0) {
                call.settings.progress = ow_progress_tell;
                call.settings.context = &progress;
            }
            OwStatus status = ow_plan_create(call.rig, &plan, &faults);
            if (status == OW_OK) {
                status = ow_morning_run(plan, &call.settings, &record, &faults);
            }
            OwTwoTankStudy study;
            if (record != NULL) {
                status = ow_two_tank_create(record, call.display, &study);
                if (progress.fd >= 0) {
                    (void)ow_progress_tell(&progress, 1.0);
                }
            }
            code = status != OW_OK ? ow_study_failed(&call, status, &faults) : answer(&call, &study);
        }
    }
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_faults_clear(&faults);
    ow_study_close(&call);
    return code;
}
