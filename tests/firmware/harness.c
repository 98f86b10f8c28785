/*
 * Plays a script from standard input, one command a line with its time in microseconds, and prints
 * each word that reaches the outputs with the time of the call that put it there.
 */

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "seqc_line.h"
#include "seqc_player.h"

#define LONGEST_CHAIN 100000U

static uint32_t now_us;
static uint32_t ticked_us;

/* Lets time pass, with the ticks that the cap's own clock gives meanwhile, or the last of them. */
static void pass_until(uint32_t at_us)
{
    uint32_t ticks = (at_us - ticked_us) / SEQC_TICK_US;

    now_us = at_us;
    ticked_us += ticks * SEQC_TICK_US;
    if (ticks > LONGEST_CHAIN)
        ticks = LONGEST_CHAIN;
    while (ticks-- > 0)
        seqc_tick();
}

static void set_clock(uint32_t at_us)
{
    now_us = at_us;
    ticked_us = at_us;
}

void seqc_output(const uint8_t word[SEQC_WORD_BYTES])
{
    int at;

    printf("out %" PRIu32 " ", now_us);
    for (at = SEQC_WORD_BYTES; at-- > 0;)
        printf("%02x", word[at]);
    printf("\n");
}

uint32_t seqc_now_us(void)
{
    return now_us;
}

void seqc_say(char sign)
{
    printf("say %d\n", sign);
}

/* Hears the rest of a command's line, and a line feed. */
static void hear(const char *text)
{
    for (; *text != '\0'; text++)
        seqc_hear(*text);
}

static void tell_state(void)
{
    uint32_t due_us = 0;
    bool waits = seqc_due(&due_us);

    printf("state %d %d %" PRIu32 " %d\n", (int)seqc_state(), (int)waits, due_us, (int)seqc_cause());
}

/* Polls at every due time that the player asks for, `late_us` late, until it waits no more. */
static void play(uint32_t late_us, uint32_t most)
{
    uint32_t due_us;

    while (most-- > 0 && seqc_due(&due_us)) {
        pass_until(due_us + late_us);
        seqc_poll(now_us);
    }
}

/* Polls every `every_us` from now until `until_us`. */
static void poll_until(uint32_t until_us, uint32_t every_us)
{
    while ((int32_t)(until_us - now_us) > 0) {
        pass_until(now_us + every_us);
        seqc_poll(now_us);
    }
}

static void poll_at(uint32_t at_us)
{
    pass_until(at_us);
    seqc_poll(now_us);
}

static int command(const char *verb, uint32_t first, uint32_t second)
{
    if (strcmp(verb, "at") == 0)
        set_clock(first);
    else if (strcmp(verb, "home") == 0)
        seqc_home(now_us);
    else if (strcmp(verb, "poll") == 0)
        poll_at(first);
    else if (strcmp(verb, "play") == 0)
        play(first, second);
    else if (strcmp(verb, "until") == 0)
        poll_until(first, second);
    else if (strcmp(verb, "stop") == 0)
        seqc_stop();
    else if (strcmp(verb, "state") == 0)
        tell_state();
    else if (strcmp(verb, "ticks") == 0)
        pass_until(now_us + first);
    else if (strcmp(verb, "serve") == 0)
        seqc_serve();
    else if (strcmp(verb, "lose") == 0)
        seqc_heard_badly();
    else if (strcmp(verb, "fail") == 0)
        seqc_fail((uint8_t)first);
    else if (strcmp(verb, "ram") == 0)
        *(uint8_t *)(uintptr_t)first ^= (uint8_t)(1U << second);
    else if (strcmp(verb, "refresh") == 0)
        seqc_refresh();
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
#if SEQC_TRACKS
    else if (strcmp(verb, "set") == 0)
        seqc_set_time(first, second, now_us);
    else if (strcmp(verb, "time") == 0)
        printf("time %" PRIu32 "\n", seqc_time());
    else if (strcmp(verb, "trim") == 0)
        printf("done %d\n", (int)seqc_trim((int16_t)((int32_t)first - (int32_t)second)));
#endif
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
