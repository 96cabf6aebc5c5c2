// The shapes that come over the wire, as rigd/model has them. Types only.

/** @typedef {"picture" | "unexposed" | "fogged" | "no film"} Film */
/** @typedef {"good"|"low"|"high"|"clipped"|"exceeds"|"soft"|"misplaced"|"stale"|"suspect"} Quality */
/** @typedef {"intended" | "exposed" | "fetched" | "stored" | "judged" | "lost"} Stage */
/** @typedef {"keep" | "retake" | "ask" | "stop"} Decision */
/** @typedef {[number, number, number]} Three */

/** @typedef {Partial<Record<"title"|"caption"|"photographer"|"place"|"dates"|"camera"|"lens"|"stock"|"process"|"rights"|"reference", string>> & {keywords?: string[]}} About */
/** @typedef {{aim?: string, mains?: string, second?: string, fastest_s?: number, slowest_s?: number}} Exposing */
/** @typedef {{job_id: string, title: string, default_base: string, about: About, names: string, copy_to: string, exposing: Exposing}} Job */
/**
 * @typedef {{setup_id: string, holder: string, lens: string, f_number: number, iso: number, lamp: string,
 *   delay_s: number}} Setup
 */
/**
 * @typedef {{roll_id: string, label: string, folder: string, film_format: string, tone: string, colour: string,
 *   expected: [number, number] | null, strip_places: number | null, base_type: string, stock: string,
 *   process: string, where: string, about: About, cuts: number[],
 *   exposing: Exposing}} Roll
 */
/**
 * @typedef {{strip_id: string, roll_id: string, number: number, places: number | null, emulsion: "up" | "down",
 *   turn: number, assumed: boolean,
 *   sleeve: string, tone: string | null, colour: string | null}} Strip
 */
/** @typedef {{frame_id: string, roll_id: string, strip_id: string, place: number, mark: string}} Frame */
/** @typedef {{shutter_s: number, shutter: string, f_number: number | null, iso: number | null}} Exposure */
/**
 * @typedef {{dark: Three, light: Three, centre: number, clipped_pct: number, off_stops: number, aim: string}} Level
 */
/**
 * @typedef {{film: Film | null, take: Quality, why: string, level: Level | null, numbers: Record<string, number>,
 *   ms: number, corners?: [number, number][]}} Verdict `corners`: the found frame's, as shares of the sensor
 */
/**
 * @typedef {{take_id: string, frame_id: string | null, purpose: string, number: number, want: Exposure, stage: Stage,
 *   files: unknown[], path: string, sha256: string, bytes: number, verdict: Verdict | null,
 *   decision: Decision | null, why: string, verified: boolean, lost_why: string, roll_id: string | null,
 *   strip_id: string | null, at: string | null, copied: string[], cleared: boolean}} Take
 */
/**
 * @typedef {{frame: Frame, takes: string[], keeper: string[], film: Film | null, by: string,
 *   skipped: boolean, judged: Film | null, marks: Film[], again: string, doubt: string, accepted: boolean,
 *   about: About}} FrameState
 */
/**
 * @typedef {{roll: Roll, strips: Record<string, Strip>, frames: Record<string, FrameState>,
 *   takes: Record<string, Take>, closed: boolean, first_at: string | null, last_at: string | null,
 *   worked_s: number, paced: number, heeded: string, place: number, held: Held | null}} RollState
 */
/** @typedef {{shutter_s: number, shutter: string, base_1s: Three, how: string, take_id: string, bound: string}} Held */
/** @typedef {{path: string, name: string, bytes: number, why: string}} Stray */
/** @typedef {{of: string, roll_id: string | null, strip_id: string | null, frame_id: string | null, next_place: number | null}} Back */
/** @typedef {{code: string, what: string, why: string, remedy: string, frame_id: string | null}} Trouble */
/**
 * @typedef {{expected: number | null, pictures: number, unexposed: number, fogged: number, skipped: number,
 *   open: number, missing: number, retaken: number, suspect: number, takes: number, again: number}} Tally
 */
/**
 * @typedef {{phase: string, camera: string, camera_ok: boolean, ledger_ok: boolean, live: boolean,
 *   battery_pct: number | null, frames_left: number | null, free_bytes: number | null, watch: string, where: string,
 *   nudge_mm: number | null, card_free_bytes?: number | null, board?: string, board_ok?: boolean,
 *   offered?: string, copied?: number | null, to_copy?: number | null, copy_trouble?: string,
 *   card_frames_left?: number | null, board_film?: boolean | null, board_stopped?: boolean | null,
 *   lamp_level?: number | null, lamp_colour?: string, lamp_warm_in_s?: number | null}} Vitals
 */
/** @typedef {{code: string, what: string, why: string, remedy: string, source?: string}} Refusal */
/** @typedef {{code: string, what: string, remedy: string, frames: string[]}} Finding */
/**
 * @typedef {{level: string, roll_id: string,
 *   account: {of: string, sentence: string, even: boolean, findings: Finding[]}}} Accounted
 */

/**
 * @typedef {object} State
 * @property {number} seq
 * @property {Job | null} job
 * @property {Setup | null} setup
 * @property {unknown} lamp
 * @property {Record<string, RollState>} rolls
 * @property {Record<string, Take>} loose
 * @property {string | null} roll_id
 * @property {string | null} strip_id
 * @property {string | null} frame_id
 * @property {number | null} next_place
 * @property {string | null} working
 * @property {number | null} next_shutter_s
 * @property {string | null} moving
 * @property {number} unclaimed
 * @property {Trouble | null} trouble
 * @property {boolean} paused
 * @property {string} camera
 * @property {string} serial
 * @property {number} frame_count
 * @property {number} take_count
 * @property {number} strip_count
 * @property {number} roll_count
 * @property {Back | null} back
 * @property {string | null} marked
 * @property {Record<string, Stray>} strays
 * @property {Record<string, string>} dismissed
 * @property {number} checked
 * @property {{ok: boolean, what: string, why: string, by: string} | null} check
 * @property {boolean} armed
 * @property {string} disarmed
 * @property {number | null} gear
 * @property {string} stopped
 */

/** @typedef {{type: string} & Record<string, any>} LedgerEvent */
/** @typedef {{seq: number, at: string, event: LedgerEvent}} Committed */

export {};
