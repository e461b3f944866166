// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright bleed`: minutes to solid fuel after a filter change.
#include "oilwright/bleed.h"

#include "progress.h"
#include "study.h"

static const char usage[] =
    "Usage: oilwright bleed RIG [options]\n"
    "\n"
    "How long until the fuel is solid again after a filter change: with the electric pump before the filter, "
    "with a\n"
    "hand primer, with the starter. Air let in, displacement, pressure, bubbles at high points.\n"
    "\n"
    "  --filter NAME       which filter is changed (the largest on the way to the injection pump)\n"
    "  --prefilled         the new filter is filled with oil before it goes on\n"
    "  --soak T            oil and metal in the workshop (20 degC, or the rig's ambient when warmer)\n"
    "  --oil OIL           another oil, see oilwright morning --help\n"
    "  --set KEY=VALUE     change any value of the file; may be given more than once\n"
    "  --progress-fd N     writes the share done, a line a per cent, on this open descriptor\n"
    "  --units metric|us   units of the output (metric)\n"
    "  --json              write all of it as JSON\n"
    "\n"
    "Ends with 0: at least one way works within its limit; 1: none does; 2: the call or the input is wrong;\n"
    "3: output could not be written.\n";

static void write_table(const OwReport *report, const OwBleedStudy *s) {
    char a[32], b[32], c[32], d[32], e[32];
    ow_units_write(s->air_m3, OW_Q_VOLUME, s->display, a, sizeof a);
    ow_units_write(s->filter_m3, OW_Q_VOLUME, s->display, b, sizeof b);
    ow_units_write(s->path_m3, OW_Q_VOLUME, s->display, c, sizeof c);
    ow_units_write(s->soak_k, OW_Q_TEMPERATURE, s->display, d, sizeof d);
    ow_units_write(s->kinematic_m2_s, OW_Q_KINEMATIC_VISCOSITY, s->display, e, sizeof e);
    char text[400];
    snprintf(text, sizeof text,
             "'%.40s' changed at %s (%s): %s of air come in, %s of it in the filter; %s from there to the "
             "injection pump "
             "are flushed %.1f times over.",
             s->rig->parts[s->filter].name, d, e, a, b, c, s->volumes);
    ow_report_paragraph(report, text, 0);
    ow_report_line(report, "%-14s %12s %14s %14s %12s %14s", "", "flow", "air replaced", "flushed",
                   "high points", "solid fuel");
    for (int w = 0; w < OW_BLEED_WAYS; w++) {
        const OwBleedCase *x = &s->cases[w];
        if (!x->is_possible) {
            ow_report_line(report, "%-14s %12s", ow_bleed_way_text((OwBleedWay)w), "-");
            continue;
        }
        ow_units_write(x->sweep_m3_s, OW_Q_VOLUME_FLOW, s->display, a, sizeof a);
        ow_units_write(x->fill_s, OW_Q_TIME, s->display, b, sizeof b);
        ow_units_write(x->sweep_s, OW_Q_TIME, s->display, c, sizeof c);
        ow_units_write(x->trap_s, OW_Q_TIME, s->display, d, sizeof d);
        ow_units_write(x->total_s, OW_Q_TIME, s->display, e, sizeof e);
        ow_report_line(report, "%-14s %12s %14s %14s %12s %14s", ow_bleed_way_text((OwBleedWay)w), a, b, c, d,
                       e);
    }
}

static json_t *study_json(const OwBleedStudy *s) {
    json_t *cases = json_array(), *traps = json_array();
    for (int w = 0; w < OW_BLEED_WAYS; w++) {
        const OwBleedCase *x = &s->cases[w];
        (void)json_array_append_new(
            cases, json_pack("{s:s, s:b, s:o, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f}", "way",
                             ow_bleed_way_key((OwBleedWay)w), "possible", x->is_possible, "pump",
                             ow_study_part(s->rig, x->pump), "fill_s", x->fill_s, "fill_m3_s", x->fill_m3_s,
                             "fill_pa", x->fill_pa, "sweep_s", x->sweep_s, "sweep_m3_s", x->sweep_m3_s,
                             "trap_s", x->trap_s, "total_s", x->total_s, "strokes", x->strokes, "crank_s",
                             x->crank_s, "charge_c", x->charge_c));
    }
    for (int i = 0; i < s->trap_count; i++) {
        const OwBleedTrap *t = &s->traps[i];
        (void)json_array_append_new(traps, json_pack("{s:o, s:f, s:f, s:f, s:f, s:f}", "part",
                                                     ow_study_part(s->rig, t->part), "volume_m3",
                                                     t->volume_m3, "rise_m_s", t->rise_m_s,
                                                     "electric_pump_m_s", t->flow_m_s[0], "hand_primer_m_s",
                                                     t->flow_m_s[1], "cranking_m_s", t->flow_m_s[2]));
    }
    return json_pack("{s:s, s:i, s:s, s:s, s:o, s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:o, s:o}", "format",
                     "oilwright-bleed", "format_version", 1, "rig", s->rig->name, "headline", s->headline,
                     "filter", ow_study_part(s->rig, s->filter), "soak_k", s->soak_k, "kinematic_m2_s",
                     s->kinematic_m2_s, "air_m3", s->air_m3, "filter_m3", s->filter_m3, "path_m3", s->path_m3,
                     "volumes", s->volumes, "ways", cases, "high_points", traps, "findings",
                     ow_study_findings(s->rig, s->findings, s->finding_count));
}

int ow_cli_bleed(int argc, char **argv) {
    OwStudyCall call = {.verb = "bleed",
                        .extra = {{.name = "--filter", .has_value = true, .most = 1},
                                  {.name = "--prefilled"},
                                  {.name = "--progress-fd", .has_value = true, .most = 1}},
                        .extra_count = 3};
    OwProgressOut progress;
    int code = OW_CLI_USAGE;
    OwFaults faults = {0};
    if (ow_study_open(&call, usage, argc, argv, &code)) {
        code = OW_CLI_USAGE;
        if (!ow_progress_open(call.verb, ow_study_option(&call, "--progress-fd"), &progress)) {
            ow_study_close(&call);
            return code;
        }
        OwBleedSettings settings = ow_bleed_default();
        settings.soak_k = call.settings.soak_k;
        settings.filter = ow_cli_value(ow_study_option(&call, "--filter"));
        settings.is_prefilled = ow_study_option(&call, "--prefilled")->count > 0;
        if (progress.fd >= 0) {
            settings.progress = ow_progress_tell;
            settings.context = &progress;
        }
        OwBleedStudy study;
        const OwStatus status = ow_bleed_create(call.rig, &settings, call.display, &study, &faults);
        if (status != OW_OK) {
            code = ow_study_failed(&call, status, &faults);
        } else {
            code = OW_CLI_FAILS;
            for (int i = 0; i < study.finding_count && i < OW_BLEED_WAYS; i++) {
                code = ow_judge_fails(study.findings[i].grade) ? code : OW_CLI_GOOD;
            }
            if (call.is_json) {
                code = ow_study_json(ow_study_cautious(study_json(&study)), code);
            } else {
                ow_report_paragraph(&call.report, study.headline, 0);
                ow_report_line(&call.report, "%s", "");
                write_table(&call.report, &study);
                ow_report_line(&call.report, "%s", "");
                ow_study_text(&call.report, study.findings, study.finding_count);
                ow_study_caution(&call.report);
                const int written = ow_cli_finish(stdout, "the standard output");
                code = written != OW_CLI_GOOD ? written : code;
            }
        }
    }
    ow_faults_clear(&faults);
    ow_study_close(&call);
    return code;
}
