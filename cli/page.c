// SPDX-License-Identifier: GPL-3.0-or-later
// `oilwright page`: serves the workshop page until it is interrupted.
#include <arpa/inet.h>
#include <errno.h>
#include <langinfo.h>
#include <libgen.h>
#include <netinet/in.h>
#include <qrencode.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include "options.h"
#include "page.h"

extern char **environ;

static const char usage[] =
    "Usage: oilwright page [RIG or FOLDER] [options]\n"
    "\n"
    "Serves the workshop page to the browser of this computer: draw, change and understand a rig, watch its\n"
    "morning. Nothing is fetched from or sent to the internet. Ends with Ctrl-C.\n"
    "\n"
    "  --folder FOLDER     where rig files are loaded from and saved to (that of RIG, ./examples, or here)\n"
    "  --book FILE         the logbook (else $OILWRIGHT_BOOK, else oilwright.book here; made with the\n"
    "                      first entry)\n"
    "  --yard FILE         the yard file (yard.yaml in that folder; an invented one until it is saved)\n"
    "  --costs FILE        the cost file (costs.yaml in that folder; an invented one until it is saved)\n"
    "  --port N            1 to 65535, or 0 for any free one (8642, or a free one when that is taken)\n"
    "  --share             also for phones on the shop's own network, by a key that is shown as a code to\n"
    "                      scan; anyone who has the key may look and compute\n"
    "  --address A         with --share: listen on this IPv4 address of this computer\n"
    "  --may-save          with --share: those who have the key may also save files and write the logbook\n"
    "  --assets FOLDER     serve the page's files from a folder, for those who work on them\n"
    "  --no-browser        do not open the browser\n"
    "\n"
    "The interface is described in docs/page-api.md. Ends with 0, or 2 when it cannot be served.\n";

enum { FOLDER, BOOK, YARD, COSTS, PORT, SHARE, ADDRESS, MAY_SAVE, ASSETS, NO_BROWSER, HELP, OPTION_COUNT };

static int wrong(const char *what, const char *detail) {
    fprintf(stderr, "oilwright page: %s%s\n", what, detail);
    return OW_CLI_USAGE;
}

/// The address that this computer has in its own network: nothing is sent to find it. False when it has none
/// that is private (RFC 1918, RFC 3927).
static bool find_address(char *text, size_t size) {
    struct sockaddr_in far = {.sin_family = AF_INET, .sin_port = htons(9)}, own = {0};
    socklen_t length = sizeof own;
    const int probe = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    bool is_found = false;
    (void)inet_pton(AF_INET, "192.0.2.1", &far.sin_addr); // RFC 5737: an address of nobody
    if (probe >= 0 && connect(probe, (struct sockaddr *)&far, sizeof far) == 0 &&
        getsockname(probe, (struct sockaddr *)&own, &length) == 0) {
        const uint32_t a = ntohl(own.sin_addr.s_addr);
        const bool is_private =
            (a >> 24) == 10 || (a >> 20) == 0xAC1 || (a >> 16) == 0xC0A8 || (a >> 16) == 0xA9FE;
        is_found = is_private && inet_ntop(AF_INET, &own.sin_addr, text, (socklen_t)size) != NULL;
    }
    if (probe >= 0) {
        (void)close(probe);
    }
    return is_found;
}

/// The code to scan: two rows of modules a line of text, a margin of four as ISO/IEC 18004 wants.
static void show_code(const char *url) {
    QRcode *code = QRcode_encodeString(url, 0, QR_ECLEVEL_L, QR_MODE_8, 1);
    if (code == NULL) {
        return;
    }
    const bool is_utf8 = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    const bool has_colour = isatty(STDOUT_FILENO) != 0;
    const int margin = 4, rows = is_utf8 ? 2 : 1;
    for (int y = -margin; y < code->width + margin; y += rows) {
        fputs(has_colour ? "\033[30;107m" : "", stdout);
        for (int x = -margin; x < code->width + margin; x++) {
            bool dark[2] = {false, false};
            for (int r = 0; r < rows; r++) {
                const bool is_inside = x >= 0 && x < code->width && y + r >= 0 && y + r < code->width;
                dark[r] = is_inside && (code->data[(y + r) * code->width + x] & 1) != 0;
            }
            if (is_utf8) {
                fputs(dark[0] ? (dark[1] ? "\xE2\x96\x88" : "\xE2\x96\x80")
                              : (dark[1] ? "\xE2\x96\x84" : " "),
                      stdout);
            } else {
                fputs(dark[0] ? "##" : "  ", stdout);
            }
        }
        fputs(has_colour ? "\033[0m\n" : "\n", stdout);
    }
    QRcode_free(code);
}

static void open_browser(const char *url) {
    pid_t child = -1;
    char program[] = "xdg-open", address[256];
    char *arguments[] = {program, address, NULL};
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    sigset_t none;
    if (getenv("DISPLAY") == NULL && getenv("WAYLAND_DISPLAY") == NULL) {
        return;
    }
    (void)snprintf(address, sizeof address, "%s", url);
    sigemptyset(&none);
    posix_spawn_file_actions_init(&actions);
    posix_spawnattr_init(&attributes);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", 1, 0);
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", 1, 0);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK);
    posix_spawnattr_setsigmask(&attributes, &none);
    (void)posix_spawnp(&child, program, &actions, &attributes, arguments, environ);
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attributes);
}

/// "a b" as "a%20b", so that a file's name can stand in an address.
static void escape(const char *text, char *out, size_t size) {
    size_t used = 0;
    for (; *text != '\0' && used + 4 < size; text++) {
        const unsigned char c = (unsigned char)*text;
        const bool is_plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                              strchr("-_.~", (int)c) != NULL;
        used += (size_t)snprintf(out + used, size - used, is_plain ? "%c" : "%%%02X", c);
    }
    out[used] = '\0';
}

/// Serves until SIGINT, SIGTERM or SIGHUP.
static int serve(OwPageSettings *settings, bool has_port, const char *file, bool has_browser) {
    OwPage *page = NULL;
    OwFault fault;
    sigset_t ends;
    int signal_number = 0;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    sigaddset(&ends, SIGHUP);
    (void)pthread_sigmask(SIG_BLOCK, &ends, NULL); // the threads inherit it
    OwStatus status = ow_page_start(settings, &page, &fault);
    if (status == OW_ERROR_USE && !has_port && settings->port != 0) {
        settings->port = 0;
        status = ow_page_start(settings, &page, &fault);
    }
    if (status != OW_OK) {
        char line[600];
        (void)snprintf(line, sizeof line, "%s%s%s", fault.message, fault.remedy[0] != '\0' ? "; " : "",
                       fault.remedy);
        (void)wrong(line, "");
        return status == OW_ERROR_MEMORY ? OW_CLI_BROKEN : OW_CLI_USAGE;
    }
    char url[256], name[160] = "";
    if (file != NULL) {
        escape(file, name, sizeof name);
    }
    (void)snprintf(url, sizeof url, "http://%s:%u/%s%s%s%s", settings->address, ow_page_port(page),
                   settings->is_shared ? "?key=" : "", ow_page_key(page), file != NULL ? "#file=" : "", name);
    printf("The workshop page: %s\nRig files: %s%s\nLogbook: %s%s\n", url, settings->folder,
           settings->can_write ? "" : " (not to be written)", settings->book,
           access(settings->book, F_OK) == 0 ? "" : " (made with the first entry)");
    if (settings->is_shared) {
        puts("Scan this with a phone on the same network. Whoever has the key may look and compute:");
        show_code(url);
    }
    puts("Ctrl-C ends it.");
    int code = ow_cli_finish(stdout, "the standard output");
    if (code == OW_CLI_GOOD && has_browser) {
        open_browser(url);
    }
    if (code == OW_CLI_GOOD) {
        while (sigwait(&ends, &signal_number) != 0) {
        }
    }
    ow_page_stop(&page);
    return code;
}

static bool is_folder(const char *path) {
    struct stat info;
    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

int ow_cli_page(int argc, char **argv) {
    OwCliOption options[OPTION_COUNT] = {
        [FOLDER] = {.name = "--folder", .has_value = true, .most = 1},
        [BOOK] = {.name = "--book", .has_value = true, .most = 1},
        [YARD] = {.name = "--yard", .has_value = true, .most = 1},
        [COSTS] = {.name = "--costs", .has_value = true, .most = 1},
        [PORT] = {.name = "--port", .has_value = true, .most = 1},
        [SHARE] = {.name = "--share"},
        [ADDRESS] = {.name = "--address", .has_value = true, .most = 1},
        [MAY_SAVE] = {.name = "--may-save"},
        [ASSETS] = {.name = "--assets", .has_value = true, .most = 1},
        [NO_BROWSER] = {.name = "--no-browser"},
        [HELP] = {.name = "--help"},
    };
    const char *file = NULL;
    int file_count = 0;
    char own[INET_ADDRSTRLEN], folder[1024], base[1024];
    const int code = ow_cli_options("page", argc, argv, options, OPTION_COUNT, &file, 1, &file_count);
    if (code != OW_CLI_GOOD) {
        return code;
    }
    if (options[HELP].count > 0) {
        fputs(usage, stdout);
        return ow_cli_finish(stdout, "the standard output");
    }
    OwPageSettings settings = ow_page_default();
    settings.version = OW_VERSION;
    settings.assets = ow_cli_value(&options[ASSETS]);
    settings.is_shared = options[SHARE].count > 0;
    settings.can_write = !settings.is_shared || options[MAY_SAVE].count > 0;
    const char *port = ow_cli_value(&options[PORT]), *named = ow_cli_value(&options[FOLDER]), *rig = NULL;
    if (port != NULL) {
        char *end = NULL;
        const long n = strtol(port, &end, 10);
        if (end == port || *end != '\0' || n < 0 || n > 65535) {
            return wrong("--port is a whole number from 0 to 65535, not ", port);
        }
        settings.port = (unsigned)n;
    }
    if ((options[ADDRESS].count > 0 || options[MAY_SAVE].count > 0) && !settings.is_shared) {
        return wrong("--address and --may-save go with --share", "");
    }
    if (settings.is_shared) {
        settings.address = ow_cli_value(&options[ADDRESS]);
        if (settings.address == NULL && find_address(own, sizeof own)) {
            settings.address = own;
        }
        if (settings.address == NULL) {
            return wrong("this computer has no address in a private network; name one with --address", "");
        }
    }
    settings.folder = named != NULL ? named : is_folder("examples") ? "examples" : ".";
    if (file != NULL && is_folder(file)) {
        settings.folder = file;
    } else if (file != NULL) {
        if (access(file, R_OK) != 0 || strlen(file) >= sizeof folder) {
            return wrong("the rig file cannot be read: ", file);
        }
        (void)snprintf(folder, sizeof folder, "%s", file);
        (void)snprintf(base, sizeof base, "%s", file);
        settings.folder = dirname(folder);
        rig = basename(base);
    }
    char paths[3][1100];
    const char *const names[3] = {"", "yard.yaml", "costs.yaml"};
    const char *book = getenv("OILWRIGHT_BOOK"); // as for the verb log
    const char **const kept[3] = {&settings.book, &settings.yard, &settings.costs};
    for (int i = 0; i < 3; i++) {
        const char *given = ow_cli_value(&options[BOOK + i]);
        (void)snprintf(paths[i], sizeof paths[i], "%s/%s", settings.folder, names[i]);
        *kept[i] = given != NULL ? given : paths[i];
    }
    if (options[BOOK].count == 0) {
        settings.book = book != NULL && book[0] != '\0' ? book : "oilwright.book";
    }
    return serve(&settings, port != NULL, rig, options[NO_BROWSER].count == 0);
}
