import { serveThread } from '../store/serve-thread.ts'
import { forgetReports, reportTasks } from './report-tasks.ts'

// The thread in which fits, reports and comparisons of sessions are worked out.
serveThread(reportTasks, forgetReports)
