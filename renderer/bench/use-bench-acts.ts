import type { Bench } from '../../app/records/bench.ts'
import type { Register } from '../../app/records/register.ts'
import { useAct } from '../client/act.ts'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { sayTurnable } from '../client/taking-back.ts'
import { say } from '../page/page.ts'
import { freeId, nextChannel } from './bench.model.ts'
import { benchStore, sameBench, useBenchEdit } from './bench.store.ts'
import { withStandards } from './first-channel.ts'

/** What is asked of the station for a bench: save it, open its links, take another one. One thing at a time. */
export function useBenchActs(bench: Bench | undefined, running: boolean) {
  const { stored, arrive } = useBenchEdit()
  const { problem, working, attempt, refuse } = useAct()
  const changed = !sameBench(bench, stored)
  const doing = <T>(words: string, answer: Promise<T>, done: (value: T) => void) =>
    void attempt(answer, done, words)
  /** Another bench would put what is not saved out of sight. */
  const unlessChanged = (go: () => void) => () =>
    changed ? refuse('This bench is not saved yet. Save it first, or take back what was changed.') : go()
  /** Another bench becomes the one in use; the one before can be had back. */
  const changeTo = (words: string, answer: Promise<{ words: string }>) =>
    doing(words, answer, (done) => {
      if (!stored) return say(done.words)
      let next: string | undefined
      sayTurnable('bench', done.words, {
        words: `the change from ${stored.name} to another bench`,
        back: async () => {
          next = benchStore.getState().stored?.id
          await station.bench.choose({ id: stored.id })
        },
        again: async () => next && station.bench.choose({ id: next }),
      })
    })
  const openLinks = () =>
    doing('Opening the links', station.bench.connect(), () =>
      say('Every link was tried; the drawing shows which answer.'),
    )
  const save = () =>
    bench &&
    doing('Saving', station.bench.save({ bench }), ({ words }) => {
      // What was saved is the new beginning: one step back is now the save itself.
      arrive(bench)
      // What was saved is connected and read at once: numbers need no session.
      if (!running)
        void station.bench.look().then(
          (looked) => say(looked.words),
          (fault) => refuse(wordsOf(fault)),
        )
      if (!stored || stored.id !== bench.id) return say(words)
      sayTurnable('bench', words, {
        words: `the save of ${bench.name}`,
        back: () => station.bench.save({ bench: stored, why: 'taken back' }),
        again: () => station.bench.save({ bench, why: 'done again' }),
      })
    })
  const closeLinks = () => doing('Closing the links', station.bench.disconnect(), ({ words }) => say(words))
  return { changed, working, problem, unlessChanged, changeTo, openLinks, closeLinks, save }
}

/** What is done to the bench in the form: instruments and channels added, the whole edit put away. */
export function useBenchEdits(
  bench: Bench | undefined,
  roleOf: (profile: string) => string,
  given: { firstProfile: string | undefined; standards: Register | undefined },
) {
  const { draft, act, giveUp, restore, select } = useBenchEdit()
  const next = bench && nextChannel(bench, roleOf)
  const addInstrument = () => {
    if (!bench) return
    const id = freeId(
      'instrument',
      bench.instruments.map((i) => i.id),
    )
    act({
      do: 'add-instrument',
      instrument: {
        id,
        name: 'New instrument',
        profile: given.firstProfile ?? 'profile',
        link: { kind: 'tcp', host: '127.0.0.1', port: 5025 },
      },
    })
    select({ kind: 'instrument', id })
  }
  const addChannel = () => {
    if (!bench || !next) return
    act({
      do: 'add-channel',
      channel: bench.channels.length === 0 ? withStandards(next, given.standards) : next,
    })
    select({ kind: 'channel', id: next.id })
  }
  const putAway = () => {
    if (!bench) return
    const kept = draft
    giveUp()
    sayTurnable('bench', `${bench.name} is put away as it was edited.`, {
      words: `the putting away of ${bench.name}`,
      back: async () => kept && restore(kept),
      again: async () => giveUp(),
    })
  }
  return { next, addInstrument, addChannel, putAway }
}
