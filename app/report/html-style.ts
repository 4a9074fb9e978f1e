/** The page's look: quiet paper in light, deep neutral in dark, black on white in print. */
export const STYLE = `
:root{--ink:#1c2226;--soft:#57636b;--grid:#d5dbde;--rule:#b9c2c7;--ground:#fbfaf7;--accent:#1f5f8b;--band:#dbe8f0;
--statement:#f1ede3;--series-1:#1f5f8b;--series-2:#b45a1e;--series-3:#3a7d44;--series-4:#7a4a8c;--series-5:#8a7a1a;--series-6:#5a5a5a}
@media (prefers-color-scheme:dark){:root{--ink:#e4e7e8;--soft:#a3adb2;--grid:#353d42;--rule:#4a545a;--ground:#16191b;--accent:#7fb8dd;
--band:#20323e;--statement:#24282a;--series-1:#7fb8dd;--series-2:#e79a63;--series-3:#83c48d;--series-4:#c49ad4;--series-5:#d6c35e;--series-6:#b5b5b5}}
@media print{:root{--ink:#1c2226;--soft:#57636b;--grid:#d5dbde;--rule:#b9c2c7;--ground:#fff;--accent:#1f5f8b;--band:#dbe8f0;--statement:#f4f2ec;
--series-1:#1f5f8b;--series-2:#b45a1e;--series-3:#3a7d44;--series-4:#7a4a8c;--series-5:#8a7a1a;--series-6:#5a5a5a}}
*{box-sizing:border-box}
html{background:var(--ground);color:var(--ink);font:15px/1.5 Inter,system-ui,sans-serif}td.decimal,td.right,svg{font-variant-numeric:tabular-nums lining-nums}.whole{white-space:nowrap}
body{margin:0}main{max-width:54rem;margin:0 auto;padding:2.5rem 1.5rem 4rem}
h1{font-size:1.9rem;font-weight:600;letter-spacing:-.01em;margin:.4rem 0 1.2rem}
h2{font-size:1.15rem;font-weight:600;margin:2.4rem 0 .6rem;padding-top:.9rem;border-top:1px solid var(--rule)}
p{margin:.5rem 0;max-width:44rem}.small,.note{font-size:.82rem;color:var(--soft)}.note{margin:.35rem 0 0}
.statement{background:var(--statement);border-left:3px solid var(--accent);padding:.6rem .9rem;font-weight:600}
.caution{border:1px solid var(--rule);padding:.6rem .9rem;font-size:.86rem}
dl{display:grid;grid-template-columns:minmax(9rem,13rem) 1fr;gap:.3rem 1rem;margin:.8rem 0}dt{color:var(--soft)}dd{margin:0}
.table{margin:1.4rem 0;overflow-x:auto}table{border-collapse:collapse;width:100%;font-size:.86rem}
caption{text-align:left;font-weight:600;font-size:.95rem;padding-bottom:.4rem}
th{font-weight:500;color:var(--soft);text-align:left;vertical-align:bottom;border-bottom:1px solid var(--rule);padding:.25rem .7rem .25rem 0}
th .unit{display:block;font-weight:400}td{padding:.22rem .7rem .22rem 0;border-bottom:1px solid var(--grid);vertical-align:top}
th.right,td.right,th.decimal,td.decimal{text-align:right;white-space:nowrap}td.decimal+td.left,th.decimal+th.left{padding-left:.9rem}
ul{padding-left:1.1rem;max-width:44rem}li{margin:.25rem 0}
figure{margin:1.6rem 0}figure svg{max-width:100%;height:auto;width:46rem}figcaption{font-size:.82rem;color:var(--soft);max-width:44rem}
.logo{max-height:4rem;max-width:14rem;display:block;margin-bottom:.8rem}
p,dd,dt,li,h1,h2,figcaption,caption{overflow-wrap:anywhere}td.left{overflow-wrap:break-word;max-width:22rem}
@page{size:auto;margin:20mm 16mm 18mm;@bottom-right{content:counter(page) " of " counter(pages);font:8pt Inter,sans-serif}
@top-left{font:8pt Inter,sans-serif;color:#57636b}}
@media print{html{font-size:9.5pt}main{max-width:none;padding:0}p,ul,figcaption{max-width:none}h2{break-after:avoid}.break{break-before:page}
tr,figure,.statement,.caution{break-inside:avoid}thead{display:table-header-group}figure svg{width:150mm}}
.draft-mark{display:none}
@media print{.draft-mark{display:block;position:fixed;top:42%;left:0;right:0;text-align:center;font-size:110pt;font-weight:600;color:#57636b;opacity:.1;transform:rotate(-45deg)}}
@media (max-width:40rem){th{white-space:nowrap}td.left{min-width:6rem}figure{overflow-x:auto}figure svg{min-width:30rem;max-width:none}dl{grid-template-columns:1fr}dd{margin-bottom:.4rem}}
`
