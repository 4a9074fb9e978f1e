import type { Foretold, PlanPreview } from '../../app/contract/studies.ts'
import { foretell } from '../../app/plan/foretell.ts'
import { paceOf } from '../../app/plan/night-pace.ts'
import { previewPlan } from '../../app/plan/preview.ts'
import type { PreviewSource } from '../../app/plan/preview-check.ts'
import type { AnalysisOptions } from '../../app/results/analysis.ts'
import type { Cancel } from '../store/thread-talk.ts'
import { earlierNights } from '../study/earlier-nights.ts'

/** Where earlier nights are found, the newest first, and the laboratory's choices about its reports. */
export interface PreviewGround {
  readonly sessions: readonly string[]
  readonly options: Pick<AnalysisOptions, 'templates'> & Partial<AnalysisOptions>
}

const nightsOf = (cancel: Cancel, { bench }: PreviewSource, { sessions, options }: PreviewGround) =>
  earlierNights(sessions, bench, options.templates, () => cancel.throwIfAborted())

/** What the preview's thread does, by name. */
export const PREVIEW_TASKS = {
  preview: (cancel: Cancel, source: PreviewSource, ground: PreviewGround): PlanPreview => {
    const nights = nightsOf(cancel, source, ground)
    return { ...previewPlan({ ...source, pace: paceOf(nights) }), nights: nights.length }
  },
  foretell: (cancel: Cancel, source: PreviewSource, ground: PreviewGround): Foretold =>
    foretell({ ...source, nights: nightsOf(cancel, source, ground), options: ground.options }),
}
