/* The step tables of one machine, written by seqc. Build again instead of editing. */
/* seqc build 00000000 */
/* Caution: connect and disconnect nothing while the supply is on; a coil held on burns, moving parts pinch. Local codes and licensed practice decide. */
/* seqc machine "quay \u002a\u002f" */
/* seqc home ["home", [], []] */
/* seqc table ["show 1", [["numeral", "1"]], []] */
/* seqc table ["show =", [["numeral", "="]], [["numeral", "1"]]] */

#ifndef SEQC_TABLES_H
#define SEQC_TABLES_H

#include <stdint.h>

#define SEQC_BUILD 0x00000000UL /* the same in every file of a build */
#if defined(SEQC_MAKEFILE_BUILD) && SEQC_MAKEFILE_BUILD != SEQC_BUILD
#error "the Makefile is of another build than seqc_tables.h: build again"
#endif
#define SEQC_IMAGE_BYTES 94U /* bytes of the image */
#define SEQC_WORD_BYTES 1U /* bytes of an output word */
#define SEQC_TIME_BYTES 1U /* bytes of a time */
#define SEQC_HOLD_BYTES 1U /* bytes of a hold's number */
#define SEQC_CHANGE_BYTES 1U /* bytes of a change's number */
#define SEQC_INDEX_BYTES 1U /* bytes of a record's number; 0: a record a step */
#define SEQC_START_BYTES 1U /* bytes of a step's number */
#define SEQC_PAIR_BYTES 1U /* bytes of an output's number */
#define SEQC_FRAME_BYTES 1U /* bytes of a frame's number; 0: a table a frame */
#define SEQC_IDLE_AT 54U /* where the idle word starts */
#define SEQC_PAIRS_AT 55U /* where the forbidden pairs start */
#define SEQC_STARTS_AT 61U /* where the first steps of the tables start */
#define SEQC_FRAMES_AT 65U /* where the frames of the tables start */
#define SEQC_HOLDS_AT 69U /* where the holds start */
#define SEQC_CHANGES_AT 71U /* where the changes start */
#define SEQC_RECORDS_AT 75U /* where the records start */
#define SEQC_ORDER_AT 83U /* where the order of the records starts */
#define SEQC_PAIRS 3U /* pairs of outputs never active together */
#define SEQC_TABLES 2U /* tables, home and clear not counted */
#define SEQC_FRAMES 2U /* frames that can be asked for */
#define SEQC_CLEAR 0U /* 1 where a table clears what was left waiting */
#define SEQC_PROGRAMME 0U /* 1 for a programme */
#define SEQC_REPEATS 0U /* 1 where the programme repeats */
#define SEQC_REPEAT_FROM 0U /* the table after the last */
#define SEQC_UNIT_US 5000U /* microseconds of one unit of time */
#define SEQC_SLACK_US 20000U /* how late a pulse may end */
#define SEQC_REST_US 66000UL /* how long all outputs are inactive before home */
#define SEQC_SPARE_US 0U /* how much of a tick lateness may take */

/* A place in the image, or the number of a step. */
typedef uint16_t seqc_at;

/* The number of a table. */
typedef uint8_t seqc_number;

/* A lateness that a pulse bears. */
typedef uint16_t seqc_late;

/* The frames that can be asked for. */
enum seqc_frames {
    SEQC_SHOW_1 = 0, /* "1" */
    SEQC_SHOW__u003d = 1 /* "=" */
};

#endif

#if defined(SEQC_WITH_IMAGE) && !defined(SEQC_HAS_IMAGE)
#define SEQC_HAS_IMAGE

#define SEQC_FLASH
#define SEQC_BYTE(array, at) ((array)[at])
#define SEQC_ALIVE() ((void)0)

/* The levels at which no output is active; kept apart, so that they hold if the image does not. */
static const uint8_t seqc_idle[SEQC_WORD_BYTES] SEQC_FLASH = {
    0x3F
};

static const uint8_t seqc_image[SEQC_IMAGE_BYTES] SEQC_FLASH = {
    /* head */
    0x53, 0x51, 0x01, 0x01, 0x01, 0x01, 0x01, 0x01, 0x01, 0x01, 0x01, 0x01,
    0x00, 0x00, 0x06, 0x00, 0x88, 0x13, 0x00, 0x00, 0x20, 0x4E, 0x00, 0x00,
    0x00, 0x00, 0x00, 0x00, 0xD0, 0x01, 0x01, 0x00, 0x02, 0x00, 0xFF, 0xFF,
    0x03, 0x00, 0x02, 0x00, 0x00, 0x00, 0x04, 0x00, 0x00, 0x00, 0x04, 0x00,
    0x00, 0x00, 0x09, 0x00, 0x00, 0x00,
    /* idle */
    0x3F,
    /* pairs */
    0x00, 0x01, 0x02, 0x03, 0x04, 0x05,
    /* starts */
    0x00, 0x03, 0x06, 0x09,
    /* frames */
    0x00, 0xFF, 0x01, 0x00,
    /* holds */
    0x01, 0x08,
    /* changes */
    0x00, 0x02, 0x04, 0x10,
    /* records */
    0x00, 0x00, 0x01, 0x01, 0x01, 0x02, 0x01, 0x03,
    /* order */
    0x00, 0x01, 0x01, 0x00, 0x02, 0x02, 0x00, 0x03, 0x03,
    /* checksum */
    0x18, 0xFF
};

#endif
