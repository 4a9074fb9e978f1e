import type { ReactNode } from 'react'
import type { LIFE_KINDS } from '../../app/contract/life.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { usePage } from '../page/page.ts'
import { save } from '../text/save.ts'
import { openSession } from './Charts.connect.tsx'
import { Life } from './Life.tsx'
import { lifeCsv } from './life.model.ts'
import type { Shelf } from './register.model.ts'

const KINDS: Record<Shelf, (typeof LIFE_KINDS)[number] | undefined> = {
  thermometers: 'thermometer',
  resistors: 'resistor',
  instruments: 'instrument',
  cells: 'cell',
  baths: 'bath',
  fluids: undefined,
}

/** The life of an entry of the register. */
export function LifeNow({ shelf, id, repairs }: { shelf: Shelf; id: string; repairs?: ReactNode }) {
  const theme = usePage((state) => state.theme)
  const version = useStation((state) => state?.versions.register)
  const kind = KINDS[shelf]
  const { data } = useAnswer(kind ? () => station.checks.life({ kind, id }) : undefined, [kind, id, version])
  if (!data) return null
  return (
    <Life
      life={data}
      theme={theme}
      repairs={repairs}
      onSession={openSession}
      onExport={() => save(new Blob([lifeCsv(data)], { type: 'text/csv' }), `${id}-life.csv`)}
    />
  )
}
