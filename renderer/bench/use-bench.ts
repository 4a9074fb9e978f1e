import { useEffect, useMemo } from 'react'
import type { ChannelView } from '../../app/contract/views.ts'
import type { Bench } from '../../app/records/bench.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useKept } from '../client/draft.ts'
import { useRecords } from '../client/records.ts'
import { isWorking, useStation } from '../client/state.ts'
import { useDesk } from '../client/taking-back.ts'
import { useBackStep } from '../page/hooks.ts'
import { sameBench, useBenchEdit } from './bench.store.ts'
import { drawBench } from './drawing.model.ts'
import { benchProblems } from './problems.ts'

const STILL = { state: 'flat', held: 1 } as const
const NOTHING_MEASURED: readonly ChannelView[] = []

/** A new bench on which nothing stands yet. */
const isUntouched = ({ instruments, channels, bath }: Bench): boolean =>
  instruments.length === 0 && channels.length === 0 && bath === undefined

/** The bench as it is being edited, kept as a draft, and taken back and done again by key. */
export function useEditedBench() {
  const edit = useBenchEdit()
  const { draft, stored, selected, act, arrive, takeUp, select } = edit
  const version = useStation((state) => state?.versions.bench)
  const saved = useAnswer(() => station.bench.get(), [version])
  useEffect(() => {
    if (saved.data) arrive(saved.data)
  }, [saved.data, arrive])
  const unsaved = draft !== undefined && !sameBench(draft.now, stored) && !isUntouched(draft.now)
  useKept<{ now: Bench; from?: Bench | undefined }>(
    'bench',
    unsaved ? { now: draft.now, from: stored } : undefined,
    saved.data === null || stored !== undefined,
    ({ now, from }) => takeUp(now, from),
  )
  useBackStep(selected !== null, () => select(null))
  useDesk({
    id: 'bench',
    undoWords: draft?.past.at(-1)?.words,
    redoWords: draft?.future[0]?.words,
    undo: () => act({ do: 'undo' }),
    redo: () => act({ do: 'redo' }),
  })
  return {
    ...edit,
    bench: draft?.now,
    known: saved.data !== undefined || saved.problem !== undefined,
    version,
  }
}

/** What stands around an edited bench: its profiles and records, what is wrong with it, and its picture. */
export function useBenchAround(bench: Bench | undefined, version: number | undefined) {
  const links = useStation((state) => state?.links) ?? []
  const running = useStation(isWorking)
  const measuring = useStation((state) => !['idle', 'ended'].includes(state?.runner.phase ?? 'idle'))
  // A session that is over says nothing of the wires of now.
  const channels = useStation((state) => (measuring ? state?.channels : undefined)) ?? NOTHING_MEASURED
  const group = useStation((state) => (measuring ? state?.group : undefined)) ?? STILL
  const profiles = useAnswer(() => station.bench.profiles(), [version])
  const roleOf = useMemo(() => {
    const roles = new Map(profiles.data?.rows.map((p) => [p.id, p.role]))
    return (profile: string) => roles.get(profile) ?? ''
  }, [profiles.data])
  const register = useRecords(
    bench && {
      thermometers: bench.channels.map(({ thermometer }) => thermometer),
      resistors: bench.channels.map(({ reference }) =>
        reference?.kind === 'resistor' ? reference.resistor : undefined,
      ),
      instruments: bench.instruments.map((instrument) => instrument.register),
    },
  )
  const problems = useMemo(
    () =>
      bench
        ? benchProblems(bench, {
            roleOf,
            kindOf: (id) => register.data?.thermometers.find((t) => t.id === id)?.kind,
          })
        : {},
    [bench, roleOf, register.data],
  )
  const drawing = useMemo(
    () =>
      bench &&
      // What an instrument is, and so where it stands in the picture, its profile says.
      profiles.data &&
      drawBench({
        bench,
        roleOf,
        links,
        channels,
        resistorName: (id) => register.data?.resistors.find((r) => r.id === id)?.name ?? id,
        problems,
      }),
    [bench, profiles.data, roleOf, links, channels, register.data, problems],
  )
  const unread = profiles.problem
  return {
    profiles: profiles.data,
    unread,
    register: register.data,
    problems,
    drawing,
    roleOf,
    running,
    group,
  }
}
