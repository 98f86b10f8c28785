/* The step tables of one machine, written by seqc. Build again instead of editing. */
/* seqc build 00000000 */
/* Caution: connect and disconnect nothing while the supply is on; a coil held on burns,
   moving parts pinch. Local codes and licensed practice decide. */

#ifndef SEQC_TABLES_H
#define SEQC_TABLES_H

#include <stdint.h>

#define SEQC_BUILD 0x00000000UL /* the same in every file of a build */
#if defined(SEQC_MAKEFILE_BUILD) && SEQC_MAKEFILE_BUILD != SEQC_BUILD
#error "the Makefile is of another build than seqc_tables.h: build again"
#endif
#define SEQC_IMAGE_BYTES 150U /* bytes of the image */
#define SEQC_WORD_BYTES 1U /* bytes of an output word */
#define SEQC_MASK_BYTES 1U /* bytes of the outputs that change */
#define SEQC_TIME_BYTES 1U /* bytes of a time */
#define SEQC_HOLD_BYTES 1U /* bytes of a hold's number */
#define SEQC_CHANGE_BYTES 1U /* bytes of a change's number */
#define SEQC_INDEX_BYTES 1U /* bytes of a record's number; 0: a record a step */
#define SEQC_START_BYTES 1U /* bytes of a step's number */
#define SEQC_FRAME_BYTES 1U /* bytes of a frame's number; 0: a table a frame */
#define SEQC_IDLE_AT 56U /* where the idle word starts */
#define SEQC_PAIRS_AT 57U /* where the forbidden pairs start */
#define SEQC_LIMITS_AT 69U /* where the limits of the cap start */
#define SEQC_STARTS_AT 117U /* where the first steps of the tables start */
#define SEQC_FRAMES_AT 121U /* where the frames of the tables start */
#define SEQC_HOLDS_AT 125U /* where the holds start */
#define SEQC_CHANGES_AT 127U /* where the changes start */
#define SEQC_RECORDS_AT 131U /* where the records start */
#define SEQC_ORDER_AT 139U /* where the order of the records starts */
#define SEQC_PAIRS 3U /* pairs of outputs never active together */
#define SEQC_LIMITS 6U /* sets of outputs whose time is capped */
#define SEQC_TICK_US 1000U /* microseconds between two calls of seqc_tick */
#define SEQC_TABLES 2U /* tables, home and clear not counted */
#define SEQC_FRAMES 2U /* frames that can be asked for */
#define SEQC_CLEAR 0U /* 1 where a table clears what was left waiting */
#define SEQC_PROGRAMME 0U /* 1 for a programme */
#define SEQC_WAITS 0U /* 1 for commissioning, where nothing moves until told */
#define SEQC_REPEATS 0U /* 1 where the programme repeats */
#define SEQC_REPEAT_FROM 0U /* the table after the last */
#define SEQC_UNIT_US 5000U /* microseconds of one unit of time */
#define SEQC_SLACK_US 20000U /* how late a pulse may end */
#define SEQC_REST_US 11488U /* how long all outputs are inactive before home */
#define SEQC_SPARE_US 0U /* how much of a tick lateness may take */
#define SEQC_TRACKS 0U /* tracks; 0: tables alone */

/* A place in the image, or the number of a step. */
typedef uint16_t seqc_at;

/* The number of a table. */
typedef uint8_t seqc_number;

/* The ticks that a limit has left. */
typedef uint16_t seqc_left;

/* A lateness that a pulse bears. */
typedef uint16_t seqc_late;

/* The frames that can be asked for. */
enum seqc_frames {
    SEQC_SHOW_1 = 0, /* "1" */
    SEQC_SHOW__u003d = 1 /* "=" */
};

#endif
