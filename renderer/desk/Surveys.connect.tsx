import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { useRecords } from '../client/records.ts'
import { useToday } from '../client/state.ts'
import { say, usePage } from '../page/page.ts'
import { useMay, usePerson } from '../page/person.ts'
import { Surveys } from './Surveys.tsx'

/** The surveys of a bath, as its entry in the register has them: what is entered is saved there at once. */
export function SurveysNow({ bath }: { bath: string }) {
  const theme = usePage((state) => state.theme)
  const who = usePerson().person?.name ?? ''
  const may = useMay('keep-records')
  const today = useToday()
  const { problem, attempt } = useAct()
  const entry = useRecords({ baths: [bath] }).data?.baths?.[0]
  if (!entry) return null
  return (
    <Surveys
      surveys={entry.surveys ?? []}
      theme={theme}
      today={today}
      who={who}
      locked={!may}
      problem={problem}
      onChange={(surveys, why) =>
        attempt(station.register.saveBath({ entry: { ...entry, surveys: [...surveys] }, why }), ({ words }) =>
          say(words),
        )
      }
    />
  )
}
