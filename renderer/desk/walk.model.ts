import { counted } from '../../app/base/plural.ts'
import type { WaterState } from '../../app/contract/views.ts'
import type { Place } from '../page/places.ts'

/** The first walk: a night on the lab in a box, one deed after another. Each step waits until its deed was really done. */

/** What the walk looks at to tell whether a deed was done. */
export interface WalkFacts {
  place: Place
  /** Somebody is signed in by name. */
  signedIn: boolean
  hasBench: boolean
  /** A record of the register is open. */
  recordOpen: boolean
  thermometerChosen: boolean
  /** A plan was saved since the step that asks for it began. */
  planSaved: boolean
  stepsOpen: boolean
  started: boolean
  channels: number
  /** Channels that have sent a reading. */
  measuring: number
  threadOpen: boolean
  water: WaterState
  /** How far the group is from settled, in the station's words. */
  waterWords: string
  points: number
  /** A thermometer was chosen among the fits, and its coefficients are there. */
  fitChosen: boolean
  reportSeen: boolean
  /** The plan has ended. */
  ended: boolean
  signed: boolean
  /** A certificate was saved. */
  certificateSaved: boolean
}

/** How a step finds its control: the button with these words, or the first match of a selector. */
export type Look = { button: string } | { css: string }

export interface WalkStep {
  id: string
  /** null: in whichever place the person is. */
  place: Place | null
  title: string
  words: (facts: WalkFacts) => string
  why: string
  /** The first that is there and can be used is pointed at. */
  look: readonly Look[]
  done: (facts: WalkFacts) => boolean
}

const FIT_FROM = 3

export const WALK: readonly WalkStep[] = [
  {
    id: 'person',
    place: null,
    title: 'Say who works here',
    words: () =>
      'Press Sign in at the bottom: the first person enters a name and a password, and may do everything.',
    why: 'What is measured, changed and signed stands in the records under the name of a person.',
    look: [{ button: 'Sign in' }, { button: 'Practice' }, { css: '.state-line' }],
    done: (f) => f.signedIn,
  },
  {
    id: 'lab',
    place: null,
    title: 'Start the lab in a box',
    words: () => 'It is a made-up bench on this computer: a bath, a bridge, a scanner and five thermometers.',
    why: 'Nothing in it is hot or real, so nothing you try on it can do harm.',
    look: [{ button: 'Try it on the lab in a box' }],
    done: (f) => f.hasBench,
  },
  {
    id: 'certificate-in',
    place: 'register',
    title: 'Look at a certificate',
    words: () =>
      'Choose the reference thermometer in the list: its coefficients, their uncertainty and the day of recalibration.',
    why: 'Every result leans on it. Your own certificates are typed in here, pasted, or imported from a file.',
    look: [{ css: '.shelf-table tbody' }, { css: '.shelf-table' }],
    done: (f) => f.place === 'register' && f.recordOpen,
  },
  {
    id: 'bench',
    place: 'bench',
    title: 'Choose a thermometer in the drawing',
    words: () => 'Its sheet opens below: on which input it hangs, against which resistor, with what current.',
    why: 'Every number of the night can only be as right as what is entered here.',
    look: [{ css: '.node-thermometer' }, { css: '.node-crowd' }, { css: '.drawing' }],
    done: (f) => f.place === 'bench' && f.thermometerChosen,
  },
  {
    id: 'plan',
    place: 'plan',
    title: 'Make the plan your own and save it',
    words: () =>
      'Choose Quick look, so that the points do not take an hour each; change a setpoint if you like. Then save.',
    why: 'Settled means what you say it means, and the rule is kept with every point taken by it.',
    look: [{ button: 'Save' }, { css: '.presets' }],
    done: (f) => f.planSaved,
  },
  {
    id: 'preview',
    place: 'plan',
    title: 'Read the night before it happens',
    words: () =>
      'Open "Step by step" and see when each setpoint begins and ends. Accept a warning or remedy it.',
    why: 'Limits, ranges, due dates and the disk are looked at now, because a night cannot be repeated at four.',
    look: [{ css: '[aria-label="Preview"] summary' }, { css: '[aria-label="Preview"]' }],
    done: (f) => f.place === 'plan' && f.stepsOpen,
  },
  {
    id: 'start',
    place: 'plan',
    title: 'Start the night',
    words: () => 'The question that follows tells what the bath will do. Say who you are, and start.',
    why: 'Nothing is heated before it was said from where to where, and who started it stays on record.',
    look: [{ button: 'Start the night' }, { css: '.checks' }],
    done: (f) => f.started,
  },
  {
    id: 'measuring',
    place: 'watch',
    title: 'See every channel measure',
    words: (f) => `${f.measuring} of ${f.channels} channels have sent a reading.`,
    why: 'Digits that the uncertainty does not support are dimmed, so that nobody reads more than is there.',
    look: [{ css: '.readout' }],
    done: (f) => f.place === 'watch' && f.channels > 0 && f.measuring === f.channels,
  },
  {
    id: 'thread',
    place: 'watch',
    title: 'Pull a number',
    words: () =>
      'Press one of the numbers: it unfolds to its formula and to what went into it. Escape folds it up.',
    why: 'Whoever asks where a number comes from can be led down to the reading and the certificate.',
    look: [{ css: '.readout-number' }],
    done: (f) => f.threadOpen,
  },
  {
    id: 'settling',
    place: 'watch',
    title: 'Watch the bath come to rest',
    words: (f) => `${f.waterWords} You may go away meanwhile; this note waits.`.trim(),
    why: 'A choppy line still moves, a rippled one holds, a flat one is settled; only then is a point taken.',
    look: [{ css: '.group-head' }, { css: '.readout' }],
    done: (f) => f.place === 'watch' && (f.water === 'flat' || f.points > 0),
  },
  {
    id: 'point',
    place: 'points',
    title: 'Look at the first point',
    words: (f) =>
      f.points === 0
        ? 'None is taken yet. The plan takes it by itself as soon as the rule holds.'
        : 'It is in the table: one row, and for each thermometer what it showed.',
    why: 'A point is the mean, drift and spread of every channel while all of the bath was settled.',
    look: [{ css: '[aria-label="Table of points"]' }, { css: '.points-scroll' }],
    done: (f) => f.place === 'points' && f.points > 0,
  },
  {
    id: 'fit',
    place: 'points',
    title: 'Look at a fit',
    words: (f) =>
      f.points < FIT_FROM
        ? `A fit needs at least ${FIT_FROM} points; ${counted(f.points, 'is', 'are')} taken. It grows with each one.`
        : 'Choose a thermometer under test: its coefficients, what is left over, and each budget follow.',
    why: 'What is left over shows whether the equation suits; the coefficients are what the certificate will carry.',
    look: [{ css: 'nav[aria-label="Fits"]' }, { css: '[aria-label="Table of points"]' }],
    done: (f) => f.place === 'points' && f.fitChosen,
  },
  {
    id: 'report',
    place: 'points',
    title: 'Open the report',
    words: () =>
      'It can be read at any time of the night; it is final only when somebody who may signs it off.',
    why: 'Paper, file and screen are made of the same numbers, so that none can differ from another.',
    look: [{ button: 'Report' }],
    done: (f) => f.place === 'points' && f.reportSeen,
  },
  {
    id: 'sign',
    place: 'points',
    title: 'Sign the results off',
    words: (f) =>
      f.ended
        ? 'Press Sign off, answer what only a person can know, and give your password once more.'
        : 'The night still goes on. The pace of the practice station can be changed at the bottom; this note waits.',
    why: 'From then on the results are fixed; what speaks against them was seen by whoever answers for them.',
    look: [{ button: 'Sign off' }, { button: 'Report' }],
    done: (f) => f.signed,
  },
  {
    id: 'certificate-out',
    place: 'points',
    title: 'Save a certificate',
    words: () =>
      'Each thermometer has its own, as PDF and as data. This one is practice and says nothing of real things.',
    why: 'It is what a customer gets; the record with everything else stays in the laboratory.',
    look: [{ css: '[aria-label="Certificates"] button' }],
    done: (f) => f.certificateSaved,
  },
]

export type Stage = 'fresh' | 'walking' | 'away' | 'finished'

export interface Walk {
  stage: Stage
  /** Ids of the steps that were done or left out. */
  done: readonly string[]
}

export const FRESH: Walk = { stage: 'fresh', done: [] }

export type WalkAct = { do: 'begin' } | { do: 'stop' } | { do: 'pass'; id: string } | { do: 'finish' }

export function walkReduce(walk: Walk, act: WalkAct): Walk {
  switch (act.do) {
    case 'begin':
      return { stage: 'walking', done: stepOf(walk) ? walk.done : [] }
    case 'stop':
      return walk.stage === 'walking' ? { ...walk, stage: 'away' } : walk
    case 'pass':
      return walk.done.includes(act.id) ? walk : { ...walk, done: [...walk.done, act.id] }
    case 'finish':
      return { ...walk, stage: 'finished' }
  }
}

/** The step that waits for its deed; undefined when all are done. */
export const stepOf = (walk: Walk): WalkStep | undefined => WALK.find(({ id }) => !walk.done.includes(id))

/** 'Step 3 of 11'. */
export const countWords = (step: WalkStep): string => `Step ${WALK.indexOf(step) + 1} of ${WALK.length}`

/** What the list of commands says of the walk. */
export function walkCommand(walk: Walk): string {
  if (walk.stage === 'walking') return 'Stop the first walk'
  if (walk.stage === 'away' && stepOf(walk))
    return `Take up the first walk again (${walk.done.length} of ${WALK.length} done)`
  return 'First walk: be led through a whole job on the lab in a box'
}

/** Reads what was kept; anything unknown is left out. */
export function readWalk(text: string | null): Walk {
  try {
    const kept = JSON.parse(text ?? 'null') as Partial<Walk> | null
    const stages: readonly unknown[] = ['fresh', 'walking', 'away', 'finished']
    if (!kept || !stages.includes(kept.stage) || !Array.isArray(kept.done)) return FRESH
    const known = new Set(WALK.map(({ id }) => id))
    return { stage: kept.stage as Stage, done: kept.done.filter((id) => known.has(id)) }
  } catch {
    return FRESH
  }
}
