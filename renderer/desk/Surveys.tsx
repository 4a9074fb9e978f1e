import { useState } from 'react'
import type { BathSurvey } from '../../app/records/bath.ts'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { DotPlot } from '../plots/DotPlot.tsx'
import { newSurvey, readSurvey, type SurveyDraft, surveySeries } from './survey.model.ts'

interface Props {
  surveys: readonly BathSurvey[]
  theme: string
  /** 2026-03-01. */
  today: string
  who: string
  locked: boolean
  problem?: string | undefined
  /** `why`: what was done to them, in words. */
  onChange: (surveys: readonly BathSurvey[], why: string) => void
}

/** Dated surveys of a bath's uniformity: entered, seen over the years, taken out. */
export function Surveys({ surveys, theme, today, who, locked, problem, onChange }: Props) {
  const [draft, setDraft] = useState<SurveyDraft>()
  return (
    <section className="stack" aria-label="Surveys of the bath">
      <h3>Surveys of its uniformity</h3>
      <Problem words={problem} />
      {surveys.length === 0 && !draft && (
        <p className="faint">
          None yet. A survey with its date stands in the budget in place of the uniformity typed on the bench,
          with its degrees of freedom.
        </p>
      )}
      {surveys.length > 0 && (
        <Scroll label="Surveys">
          <table className="table">
            <thead>
              <tr>
                <th scope="col" className="left">
                  Date
                </th>
                <th scope="col" className="left">
                  By
                </th>
                <th scope="col" className="left">
                  Places, depth / mm
                </th>
                <th scope="col" className="left">
                  Standard uncertainty of the difference / mK
                </th>
                <th scope="col">
                  <span className="unseen">Acts</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {surveys
                .toSorted((a, b) => b.date.localeCompare(a.date))
                .map((survey) => (
                  <tr key={survey.id}>
                    <th scope="row">{survey.date}</th>
                    <td className="left">{survey.who}</td>
                    <td className="left">
                      {survey.positions.map((p) => `${p.name} ${p.depthMm}`).join(', ')}
                    </td>
                    <td className="left">
                      {survey.points
                        .map((p) => `${p.uMk} at ${p.celsius} °C (${p.degreesOfFreedom})`)
                        .join(', ')}
                    </td>
                    <td>
                      {!locked && (
                        <Button
                          look="quiet"
                          label={`Take the survey of ${survey.date} out`}
                          onPress={() =>
                            onChange(
                              surveys.filter(({ id }) => id !== survey.id),
                              `survey of ${survey.date} taken out`,
                            )
                          }
                        >
                          Take out
                        </Button>
                      )}
                    </td>
                  </tr>
                ))}
            </tbody>
          </table>
        </Scroll>
      )}
      {surveys.length > 1 && (
        <DotPlot
          label="Uniformity of the bath over the years"
          xTitle="Date"
          yTitle="u / mK"
          series={surveySeries(surveys)}
          theme={theme}
          height={220}
          dates
          withZero
        />
      )}
      {draft ? (
        <SurveyForm
          draft={draft}
          onChange={setDraft}
          onEnter={(survey) => {
            onChange([...surveys, survey], `survey of ${survey.date}`)
            setDraft(undefined)
          }}
          onCancel={() => setDraft(undefined)}
        />
      ) : locked ? null : (
        <div>
          <Button onPress={() => setDraft(newSurvey(today, who))}>Enter a survey</Button>
        </div>
      )}
    </section>
  )
}

interface FormProps {
  draft: SurveyDraft
  onChange: (draft: SurveyDraft) => void
  onEnter: (survey: BathSurvey) => void
  onCancel: () => void
}

function SurveyForm({ draft, onChange, onEnter, onCancel }: FormProps) {
  const [tried, setTried] = useState(false)
  const { survey, problems } = readSurvey(draft, `survey-${draft.date}-${Date.now().toString(36)}`)
  const shown = tried ? problems : {}
  const field = (key: keyof SurveyDraft) => ({
    value: draft[key],
    problem: shown[key],
    onChange: (text: string) => onChange({ ...draft, [key]: text }),
  })
  return (
    <section className="stack" aria-label="New survey">
      <div className="fields">
        <Field label="Date of the survey" {...field('date')} about="Such as 2026-02-10." />
        <Field label="Made by" {...field('who')} />
        <Field
          label="Places and depths"
          lines={3}
          {...field('positions')}
          about="One in each line: a name and the depth in mm, such as rim 200. At least two."
        />
        <Field
          label="What was found"
          lines={3}
          {...field('points')}
          about="One temperature in each line: °C, standard uncertainty of the difference of two places in mK, degrees of freedom; such as 50 1.8 6."
        />
        <Field label="Note on the survey" {...field('note')} />
      </div>
      <div className="row">
        <Button
          look="main"
          onPress={() => {
            setTried(true)
            if (survey) onEnter(survey)
          }}
        >
          Enter the survey
        </Button>
        <Button onPress={onCancel}>Cancel</Button>
      </div>
    </section>
  )
}
