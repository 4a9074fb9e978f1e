import type { PlanPreview } from '../../app/contract/studies.ts'
import { previewPlan } from '../../app/plan/preview.ts'
import type { PreviewSource } from '../../app/plan/preview-check.ts'
import type { Cancel } from '../store/thread-talk.ts'

/** What the preview's thread does, by name. */
export const PREVIEW_TASKS = {
  preview: (_cancel: Cancel, source: PreviewSource): PlanPreview => previewPlan(source),
}
