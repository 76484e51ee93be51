// strewn's controller for programs in C. Drawn from the Rust sources: do not edit.
//
// Ownership: a StrewnController is memory of the caller, static or on the stack, that strewn_start fills.
// The library allocates nothing, keeps no pointer after a call and needs no clean-up. Move a controller
// by copying it while no call works on it.
// Threading: there is no hidden state. Calls on different controllers may go on at once; calls on one
// controller must follow each other, and none may be made from an interrupt that can break into another.
// Time: a call does bounded work and never waits. strewn_step is meant to be called 100 times a second.
// Errors: every call takes any pointer that is null or good and any bytes; what is wrong is returned, and
// outputs that could not be computed are the safe ones (valve 0, everything off).

#ifndef STREWN_H
#define STREWN_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

// Most CAN frames of a tick.
#define STREWN_FRAMES 4

// Most NMEA sentences of a tick.
#define STREWN_SENTENCES 2

// Longest sentence.
#define STREWN_SENTENCE_BYTES 82

// Eight bytes each of a controller's memory.
#define STREWN_CONTROLLER_WORDS 512

// Bytes of what a controller has learned.
#define STREWN_LEARNED_BYTES 84

// What came of a call.
typedef enum StrewnStatus {
  // It was done.
  STREWN_STATUS_DONE = 0,
  // A pointer that is needed is null.
  STREWN_STATUS_NULL = 1,
  // The memory holds no controller: strewn_start has not been called on it, or refused.
  STREWN_STATUS_NOT_STARTED = 2,
  // The bytes are no settings record of this version, or a setting is out of its range.
  STREWN_STATUS_SETTINGS = 3,
  // The bytes are no whole frame of a log.
  STREWN_STATUS_FRAME = 4,
  // The bytes are not what a controller of this version has learned under these settings, or damaged.
  STREWN_STATUS_LEARNED = 5,
  // The memory for the bytes is too short.
  STREWN_STATUS_ROOM = 6,
} StrewnStatus;

// A controller: its settings and everything it remembers. Its content is none of the caller's business.
typedef struct StrewnController {
  uint64_t words[STREWN_CONTROLLER_WORDS];
} StrewnController;

// Edges of a pulse sensor as a capture timer keeps them.
typedef struct StrewnPulses {
  // Edges since the start; wraps.
  uint32_t count;
  // Low 32 bits of the microsecond clock at the last edge.
  uint32_t last_edge_us;
} StrewnPulses;

// One CAN frame with a 29-bit identifier and eight data bytes.
typedef struct StrewnFrame {
  // The 29-bit identifier.
  uint32_t id;
  // The data bytes.
  uint8_t data[8];
} StrewnFrame;

// One NMEA 0183 sentence, `$` first, without the line end.
typedef struct StrewnSentence {
  // Bytes used; more than there are count as all of them.
  uint8_t length;
  // The bytes.
  uint8_t bytes[STREWN_SENTENCE_BYTES];
} StrewnSentence;

// Everything the controller sees in one tick.
typedef struct StrewnInputs {
  // The caller's clock at the start of the tick, us; never runs backwards.
  uint64_t now_us;
  // The two rollers.
  struct StrewnPulses rollers[2];
  // A ground wheel or radar.
  struct StrewnPulses ground;
  // Weigh-cell amplifier, counts of 24 bits with sign.
  int32_t weigh_counts;
  // Steps by one with each conversion of it; wraps.
  uint8_t weigh_sequence;
  // Which lot of bales is selected, from 0.
  uint8_t ticket;
  // Switches, a bit each, set while current flows: 0 seat, 1 and 2 stop clear, 3 arm, 4 run, 5 new
  // bale, 6 guards shut, 7 hitch down, 8 level, 9 second contact of run.
  uint16_t switches;
  // Pressure across the roller motors, counts of 12 bits, as the four below.
  uint16_t pressure;
  // Bale gauge.
  uint16_t gauge;
  // Reference voltage.
  uint16_t reference;
  // Current through the valve's coil.
  uint16_t coil_current;
  // Supply of the valve behind the series enable.
  uint16_t valve_supply;
  // CAN frames used; more than there are count as all of them.
  uint8_t frame_count;
  // Sentences used; more than there are count as all of them.
  uint8_t sentence_count;
  // CAN frames since the last tick.
  struct StrewnFrame frames[STREWN_FRAMES];
  // Sentences since the last tick.
  struct StrewnSentence sentences[STREWN_SENTENCES];
} StrewnInputs;

// Everything the controller commands in one tick.
typedef struct StrewnOutputs {
  // Signed valve duty, -32767 (full reverse) to 32767 (full forward).
  int16_t valve;
  // The enable in series with the valve's supply. Off is safe.
  bool enable;
  // Feed the watchdog outside the processor in this tick.
  bool feed_watchdog;
  // Lamps, a bit each: 0 armed, 1 laying, 2 stopped, 3 rollers still turn, 4 horn.
  uint8_t lamps;
} StrewnOutputs;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

// Sets a controller as after power-on: at rest, nothing known, valve shut.
//
// `settings` are `length` bytes: a settings record in postcard's encoding, as it stands at the head of
// a log. What is refused leaves a controller that strewn_step refuses in turn.
//
// # Safety
// `controller` is null or points to memory for one that nobody else uses during the call; `settings` is
// null or points to `length` readable bytes.
enum StrewnStatus strewn_start(struct StrewnController *controller,
                               const uint8_t *settings,
                               size_t length);

// One tick: reads `inputs`, writes `outputs`. Any inputs give outputs; broken or missing wires stop the
// machine. Whatever is wrong with the call itself, `outputs` (unless null) are the safe ones.
//
// # Safety
// Each pointer is null or points to one of its kind; the controller's bytes were set (to zero, or by
// strewn_start); nobody else uses any of them during the call.
enum StrewnStatus strewn_step(struct StrewnController *controller,
                              const struct StrewnInputs *inputs,
                              struct StrewnOutputs *outputs);

// Takes everything that the last strewn_step commanded into a running digest (0 before the first): two
// runs with equal digests commanded the same, on whatever computer. Without a controller it stays.
//
// # Safety
// As for strewn_step.
uint32_t strewn_digest(struct StrewnController *controller,
                       uint32_t previous);

// Copies what the controller has learned of lots, of the bale in hand and of its valve to `bytes`, which
// have room for `length`: STREWN_LEARNED_BYTES are written, or none. The copy is the caller's, to be kept
// where it outlasts power-off, and holds its own checksum. It is whole between any two steps; after each
// bale, and whenever a row has ended, is often enough.
//
// # Safety
// As for strewn_step; `bytes` is null or points to `length` writable bytes.
enum StrewnStatus strewn_learned(struct StrewnController *controller,
                                 uint8_t *bytes,
                                 size_t length);

// Sets a controller as after power-on, as strewn_start has left it, but with what strewn_learned gave
// before power was off: `length` bytes, which are read and not kept. To be called once, between
// strewn_start and the first strewn_step; later it stops the machine, as any power-on does. What is
// refused - damaged, of another version, learned under other settings - changes nothing: the controller
// goes on without. Another rate or other limits of safety are no other settings.
//
// # Safety
// As for strewn_step; `bytes` is null or points to `length` readable bytes.
enum StrewnStatus strewn_start_learned(struct StrewnController *controller,
                                       const uint8_t *bytes,
                                       size_t length);

// Reads the frame of a log at `bytes`. `inputs` hold those of the tick before (all bytes zero in the
// first tick) and become those of this tick; `used` becomes the length of the frame, after which the
// next one begins. What is no whole frame changes neither.
//
// # Safety
// `inputs` and `used` are null or point to one of their kind, `bytes` is null or points to `length`
// readable bytes; nobody else uses any of them during the call.
enum StrewnStatus strewn_read_frame(struct StrewnInputs *inputs,
                                    const uint8_t *bytes,
                                    size_t length,
                                    size_t *used);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* STREWN_H */
