import { utcDay } from '../../app/base/times.ts'
import type { BathSpec } from '../../app/records/bench.ts'
import { useStation } from '../client/state.ts'
import { usePage } from '../page/page.ts'
import { usePerson } from '../page/person.ts'
import { Surveys } from './Surveys.tsx'

/** The surveys of the bench's bath. */
export function SurveysNow({ bath, onChange }: { bath: BathSpec; onChange: (bath: BathSpec) => void }) {
  const theme = usePage((state) => state.theme)
  const who = usePerson().person?.name ?? ''
  const today = useStation((state) => utcDay(state?.utcUs ?? 0))
  return (
    <Surveys
      surveys={bath.surveys ?? []}
      theme={theme}
      today={today}
      who={who}
      onChange={(surveys) => {
        const { surveys: _before, ...rest } = bath
        onChange(surveys.length > 0 ? { ...rest, surveys: [...surveys] } : rest)
      }}
    />
  )
}
