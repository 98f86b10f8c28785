/*
 * Plays a script from standard input, one command a line with its time in microseconds, and prints
 * each word that reaches the outputs with the time of the call that put it there.
 */

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "seqc_line.h"
#include "seqc_player.h"

static uint32_t now_us;

void seqc_output(const uint8_t word[SEQC_WORD_BYTES])
{
    int at;

    printf("out %" PRIu32 " ", now_us);
    for (at = SEQC_WORD_BYTES; at-- > 0;)
        printf("%02x", word[at]);
    printf("\n");
}

void seqc_say(char sign)
{
    printf("say %d\n", sign);
}

/* Hears the rest of a command's line, and a line feed. */
static void hear(const char *text)
{
    for (; *text != '\0'; text++)
        seqc_hear(*text, now_us);
}

static void tell_state(void)
{
    uint32_t due_us = 0;
    bool waits = seqc_due(&due_us);

    printf("state %d %d %" PRIu32 "\n", (int)seqc_state(), (int)waits, due_us);
}

/* Polls at every due time that the player asks for, `late_us` late, until it waits no more. */
static void play(uint32_t late_us, uint32_t most)
{
    uint32_t due_us;

    while (most-- > 0 && seqc_due(&due_us)) {
        now_us = due_us + late_us;
        seqc_poll(now_us);
    }
}

/* Polls every `every_us` from now until `until_us`. */
static void poll_until(uint32_t until_us, uint32_t every_us)
{
    while ((int32_t)(until_us - now_us) > 0) {
        now_us += every_us;
        seqc_poll(now_us);
    }
}

static int command(const char *verb, uint32_t first, uint32_t second)
{
    if (strcmp(verb, "at") == 0)
        now_us = first;
    else if (strcmp(verb, "home") == 0)
        seqc_home(now_us);
    else if (strcmp(verb, "poll") == 0)
        seqc_poll(now_us = first);
    else if (strcmp(verb, "play") == 0)
        play(first, second);
    else if (strcmp(verb, "until") == 0)
        poll_until(first, second);
    else if (strcmp(verb, "stop") == 0)
        seqc_stop();
    else if (strcmp(verb, "state") == 0)
        tell_state();
    else if (strcmp(verb, "watch") == 0)
        printf("watch %d\n", (int)seqc_watch());
    else if (strcmp(verb, "sum") == 0)
        printf("sum %u\n", (unsigned)seqc_checksum());
#if SEQC_PROGRAMME
    else if (strcmp(verb, "run") == 0)
        printf("done %d\n", (int)seqc_run(now_us));
    else if (strcmp(verb, "pause") == 0)
        seqc_pause();
    else if (strcmp(verb, "resume") == 0)
        seqc_resume(now_us);
#else
    else if (strcmp(verb, "show") == 0)
        printf("done %d\n", (int)seqc_show((uint16_t)first, now_us));
    else if (strcmp(verb, "seen") == 0)
        printf("seen %u\n", (unsigned)seqc_seen());
#endif
    else
        return 1;
    return 0;
}

int main(void)
{
    char line[80];
    char verb[16];
    uint32_t first;
    uint32_t second;

    while (fgets(line, sizeof line, stdin) != NULL) {
        first = second = 0;
        if (strncmp(line, "hear ", 5) == 0) {
            hear(line + 5);
            continue;
        }
        if (sscanf(line, "%15s %" SCNu32 " %" SCNu32, verb, &first, &second) < 1
            || command(verb, first, second) != 0) {
            fprintf(stderr, "not understood: %s", line);
            return 1;
        }
    }
    return 0;
}
