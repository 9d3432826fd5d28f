<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1" sourcelanguage="en">
<context>
    <name>core</name>
    <message>
        <source>
body {{ font: 15px/1.45 system-ui, sans-serif; color: #1d2426; background: #fff; max-width: 62rem; margin: 2rem auto;
  padding: 0 1rem; }}
h1 {{ font-size: 1.5rem; }} h2 {{ font-size: 1.15rem; margin-top: 2rem; border-bottom: 1px solid #dedcd4; }}
table {{ border-collapse: collapse; font-variant-numeric: tabular-nums; }}
td, th {{ padding: .15rem .6rem; text-align: right; border-bottom: 1px solid #eceae4; }}
th {{ color: #5a6763; font-weight: 600; }} td.text, th.text {{ text-align: left; }}
.caution {{ border-left: 4px solid #a85d00; padding: .3rem .8rem; background: #fbf6ee; }}
code {{ font-size: .85em; overflow-wrap: anywhere; }}
@media print {{ body {{ margin: 0; }} h2 {{ break-after: avoid; }} tr {{ break-inside: avoid; }} }}
</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>  values from {0} to {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>  {0}: {1} breakpoints from {2} to {3}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> Only the lowest breakpoint of a curve may hold 0.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> and {0} more</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> has no unit and</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> in {0} ({1}); that counts as missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>, and {0} more</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>, taken as UTC.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>, with its time zone.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>. If it is a log after all: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 problem was</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>101.325 kPa was</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>; from {0} to {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>; it has no values</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>; or export one that is: --revision {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>; or write a draft with --draft.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>&lt;!-- commands: made by python -m workbench.commands.handbook README.md --&gt;</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>&lt;!-- end of commands --&gt;</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>, {0} set outright</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> And {0} more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>%, 0 and 1, ON and OFF, or open and closed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A curve has two columns (or two rows): breakpoints and values.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A divider on {0} V gives voltages between 0 and that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A factor of {0} is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A grid has column breakpoints in its first row and row breakpoints in its first column.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A limit of {0} for {1} is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A limit of {0} is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A line of the file is longer than {0} MB.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A share of {0} is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A step of {0} is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A strength of {0} is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A table has at least two columns and two rows; separate cells by commas, semicolons or tabs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A table has one axis or two.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A thermistor&apos;s law needs four cells, with resistances and temperatures above zero.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A width of {0} bits is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add a log with add-log first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add an amount to the chosen cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add another drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the drive with revision {{id}}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the log again with --role {0}=CHANNEL. Its channels: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the log again with --role {0}={1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the log again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the log of a drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the next drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add these again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Another program changed {0} meanwhile.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve it first: approve SESSION {0} --by NAME</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve revision {{id}}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve revision {{id}} again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>As stated for an earlier log of the same shape: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bank 2 takes {0} % more fuel than bank 1: look for a leak, an injector or a sensor on one side; the airflow table is common to both.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Blend with a {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Both were left as they are. Move {0} to another folder and keep it there, then open the session.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Breakpoint {0} of the axis {1} is not a number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Breakpoints count from 0, both ends included.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>CAN captures</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Carry the correction on</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} reads {1} degC; is it in degF?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} {1}; the stated {2} differs by {3} % in lambda.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cell {0} of the table {1} is not a number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change {0} is missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check its permissions.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check the quotation marks.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check the spelling, and the folder you are in.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check the spelling, or make one with: new SESSION TABLE.csv</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose a block of at least two; the outermost keep their values.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose another law.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose another name; a session is never overwritten.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose another.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose cells with evidence as well.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose more cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose other cells, or drive there first: the evidence says where samples are missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Compare two revisions of one table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Convert it in a spreadsheet first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy cells in the spreadsheet first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy it again, or export it as CSV text.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy it again; the file is damaged or locked.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy only cells that hold numbers, without headings and breakpoints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy only the values, without the breakpoints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy or paste one block at a time.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy them again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy them with a decimal point, or with another number of decimals.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct from 1 drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct from {{n}} drives</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive {0} belongs to another change than change {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive {0} cannot be read: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive {0} is missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive {0} was driven before the table {1} was added.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drives {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export a draft of revision {{id}}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export it again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export revision {{id}}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fill every cell with a finite number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Flash revision {{id}}, drive, and add the new log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Full throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Full throttle ran up to {0} % leaner than commanded for {1} s: do not repeat it before the table is corrected there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give --at once for each boundary, and --name once for each part.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give 0..5 s, 0..50 g and 0..2 s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give 1 to 64; ECUs mostly use 8 or 16.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a DBC file that describes them with --dbc FILE.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a DBC file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a curve or a grid.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a factor above 0, as in 1.02 for 2 % more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a finite number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a share from 0 (nothing) to 1 (the whole step).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a table of two columns, or a grid.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a value above 0.{0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give at least one breakpoint.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give at least one column of numbers.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give axes with as many breakpoints as there are rows and columns.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give every line the same number of cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give its air-fuel ratio, as in 14.7, or one of: {0}, E0 to E100.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give more than -100, as in 2 for 2 % more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give one from 0 to 1.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give one value for each breakpoint, or each pair of breakpoints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give one with --name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the largest step as a ratio, as in 0.25.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the lower value first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Install it with: {0} -m pip install {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Invalid argument</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Is it a log?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It has none yet: add one with add-log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It has: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It is approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It must lie from {0} to {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keep the curve rising</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>King&apos;s law needs four cells above zero.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave --by-evidence out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave --displacement out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave --since out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave a bound out where there is none.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave one of them out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave some cells out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Let the last part end there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Likely reason: another table was in the car. {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Likely reason: the error follows another channel. {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log only with a passenger at the laptop or on a closed course, within local rules.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log {0} ({1}) has no channel {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Long form: {0} readings of one channel each.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at the cautions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at the evidence again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at the history, then undo or redo again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make a new revision with the values of an earlier one; everything in between stays in the history.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make one with: new SESSION TABLE.csv</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Most cells of {0} are empty; a value stands for the rows that follow it by at </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Move the chosen cells towards their values in another revision of the table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Multiply the chosen cells by a factor.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>NOT APPROVED, a draft for a test drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name a DBC file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name a file; what comes through a pipe, save in one first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name a session file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name each part differently.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name its table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name one file inside it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name one of its revisions.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name one of them with --part: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name one with --part: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name the file to write.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No breakpoint of the axis {0} lies from {1} to {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No cell stands out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No cells are chosen.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No correction from evidence leads to revision {0} on its breakpoints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No drive is named.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No drive was made with revision {0} in the car: export it as a draft, drive it, and add that log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No drive was made with revision {{id}} yet: export it as a draft, flash that, {{care}}; then add the log. It is not approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No sample of {0} passes the gates</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>None of the chosen cells is undriven.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>None of the chosen cells was driven enough to be corrected.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing changes.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing changes: {0} stays at revision {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was changed; use a smaller step.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was logged for more than {0} s {1}; {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was undone after revision {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was written there. All that was done before is still here: save it elsewhere with save-copy.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Numbers such as {0} in {1} can be read with a decimal comma or with a comma between thousands.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Numbers were read with a decimal comma.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Numbers were read with thousands separators.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Numbers were read {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Offset and range must be finite numbers.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Only curves are kept in parts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Other logs were added meanwhile.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part of what was driven is outside its target.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part {0}: {1} to {2} {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Parts of one curve share the breakpoint at their boundary.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Parts run from breakpoint to breakpoint; this one begins at {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Raise or lower the chosen cells by a percentage.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Reading {0} needs the library {1}, which is not installed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} belongs to another change than change {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is a {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is approved already, by {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is not one of the table {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is one of the table {1}, not of {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is one of the {1} {2}, revision {3} of the {4} {5}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is the first of {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} of {1} is approved by {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} of {1} is not approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} of {1}: {2}, {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0}: in {1} (first at {2}) the value of revision {3} times the multiplier is not the value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0}: {1} of {2} cells corrected, by {3} % to {4} %, from {5}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>SQLite says: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show or set the targets, the air-fuel ratio at lambda 1, where the wideband sits, and the gate limits.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sort the rows by time, the oldest first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Texts were read as states of the fuel system or of purge: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} is fed by the {1} of a log, less its barometer, which must be logged too.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} is fed by the {1} of a log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} names no unit: the {1} of a log feeds it in {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The clock passes {0} at row {1}; {2} added from there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The remaining error{0} follows {1}: {2} % (±{3}) from {4} to {5}. {6}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The rules that protect recorded rows were altered</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The trims&apos; swings are too small or too seldom logged to show where the wideband sits</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There are channels of a drive {0}, which is missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write the whole session to a new file: every revision, log, approval and export, just as they were recorded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a name is missing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a name is too many</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a number in it is larger than {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>before or after the catalyst, which cannot be told</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>does not hold this session any more: something else was written over it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive there, or restore them</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>every column shows its maximum, mean or total there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>factors such as 1.02, or percents such as 2; auto reads numbers with a percent sign as percents.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fade the correction out over this many cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>find out why the table was so far off</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>finding place and delay of the wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>folder for the sample files, the session and the exported table; made if missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>folder for them; made if missing, and nothing in it is replaced.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>for channels logged as air-fuel ratio: the fuel&apos;s ratio at lambda 1, or its name, as in E10.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>has no unit; its steps were read as {0}seconds.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is another file now: something else was put in its place</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is damaged: a row does not follow from those before it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is not there any more: it was moved, renamed or deleted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is not whole any more: {0} beside it was taken away</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>it is nested more than {0} deep</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>it is nested without end</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>its channels are not numbered one after the other</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>its time falls, or is missing in places</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>keeps its reader busy without end: it is damaged, or was made to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>says something else</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>supply supply supply supply supply of that divider, V.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the limit {0} is {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the same by axis values, as in 3000:4500 or 1000:1500+3000:4500</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>was cut short, from {0} to {1} bytes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>where to write it; nothing may be there yet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} against the law {1}; off by {2} {3} (rms).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} breakpoints are kept for axes with {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be stored ({1}): the ECU holds {2} to {3}; {4}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be written: the folder {1} is read-only.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be written: {1}. Nothing was written.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cells of this table, the first at {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} channels without a role were left out: the log would be too large.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} corrected too; their intervals are wide: check them before approving.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} diagnostic responses of {1} were decoded by SAE J1979.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} differs from what was recorded: its digest does not match.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} does not lie between the ends of the axis {1}, {2} and {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds a line break or another control character, U+{1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a log of this session: it is never replaced.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a log: {1} over {2} s, {3} a second.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is an empty zip file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is assumed to be in {1}: a unit is missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is at the top of its range in {1} (air, or a saturated reading).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is marked {1}, but reads near 1: it was read as lambda.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a finite number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a log but can be read as a table, a {1} of {2} cells. {3}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a log: it holds NUL bytes where its text should be.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a log: it is {1}, whatever its name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a log: it looks like {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a number. Only the header or the corner may hold text.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a revision of this session; compared with the nearest, revision {1}, it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a session file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a table; it looks like {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a whole number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not valid text in this system&apos;s encoding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is outside its target: {1}, {2}. Correct, then drive again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is whole, but the file {1} beside it holds changes that are not its own. With them: {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} moved by more than {1} % since revision {2}, most at {3} ({4} %): {5}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} multi-frame responses with a missing frame were dropped ({1}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} of driven cells and {1} of driven time within ±{2} %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} of them {1} the cells around.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} values are more than a log can have</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was altered after it was recorded. {1}{2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was written by a newer version of the workbench.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} {1} belongs to no change.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} {1} cannot be read: {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} {1} the mixture at high load since revision {2}, most at {3} ({4} %): a lean mixture under load can destroy an engine. Make sure that pulls logged with a wideband call for it, and go in small steps.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} {1} while it was open.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} {1}, but the stated fuel has {2}: confusing the two is an error of {3} % in lambda.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} {1}: it is never replaced.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}, line {1}: the corner cell is missing; the first row was shifted right.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}, line {1}: {2} where other lines have {3} (column {4}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}, revision {1}: {2} used.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}, with the changes that wait in {1} beside it, is damaged. {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: a copy of the session with {1}. Go on with that file: open it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: its logged airflow differs from revision {1} by {2} % and from all others by more than {3} %: another table may have been in the car, or the ECU filters the channel{4}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A curve cut at {0} has {1}, but {2} given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Before revision {{id}} is approved: {{why}}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} 0 {1}, the first at {2}: the ECU would meter no fuel there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} reads lambda {1} in the middle of closed loop, where the ECU holds</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} stays around 1 %; is it a factor, where 1.03 is +3 %? Then its header must say factor, not %.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} stays under 20 kPa; is its unit {1}?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} stays under {1} %; is it a voltage, or a fraction?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} stays under {1} rpm; is it in thousands, or in turns a second?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} stays within {1} %; is it a fraction, where 0.05 is 5 %?</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Columns of text were left out</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive warm, in closed loop or with a wideband and commanded lambda logged.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Empty columns were left out</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export the log with a decimal point, or with semicolons or tabs between the cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give both limits, as in --gate lambda_low=0.7 --gate lambda_high=1.3.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave --dbc out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave --part out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log {0}, {1}: {2}; driven on revision {3}{4}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name another file to write.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name the unit of the axis in the header of the table&apos;s file, as in &apos;Manifold pressure (kPa)&apos;.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Raise that cell first, or leave it out of the chosen cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sampled more slowly than that, so often missing: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Save it again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Save or copy it again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Save or export the log again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Several blocks are chosen.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show by how many percent each cell differs between two revisions.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Some time stamps repeat</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>State one revision for each table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Steps of {0} {1} are too coarse for {2}: {3} {4} would be rounded to {5}, and the ECU would meter no fuel there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axes were given; the file holds the values.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis is in volts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis runs from {0} to {1} {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} does not rise: breakpoint {1} is {2}, breakpoint {3} is {4}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} has a breakpoint at {1} already.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} has no breakpoints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The breakpoints {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The car states its own full scales (parameters 4F or 50); the usual scales were assumed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cell at {0} ({1} {2}{3}) cannot be stored: the ECU holds {4} to {5}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cell at {0} would be multiplied by {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cells {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cells {0} name {1} axes, but the table {2} is a {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cells {0} reach breakpoint {1}; the axis {2} ends at {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The channel {0} holds text such as {1}, so it cannot be {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The charge needs three pressures, with efficiencies and pressures above zero.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The delay {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The delay {0} is out of range.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The donor does not reach {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The donor does not reach {0}; these {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The donor&apos;s axis {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The factor for the cell at {0} is {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The file {0} cannot be read: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The file {0} is empty.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The fuel {0} is not known.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The grid {0} has two axes.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The largest rounding is {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The limit {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The log has no channel {0} for {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The numbers in {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The part {0} ends at {1} and {2} begins at {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The part {0} from {1} to {2} does not fit the axis {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The part {0} is a {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The parts disagree at {0} {1}: {2}{3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The parts end at {0}, the axis at {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The parts {0} and {1} are in other units ({2}; {3}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The pasted block is {0}; from there on the table has {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The pasted block is {0}; the chosen cells are {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The pasted block is {0}; the curve {1} takes one row or one column.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The range from {0} to {1} is empty.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The rate {0} Hz is not above 0.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The ratio {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The role {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The role {0} is stated twice.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The sheet {0} of {1} was read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The span {0} cannot be read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The span {0} names {1} axes, but the table {2} is a {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table has no name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table was changed meanwhile.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table {0} has {1} values where its axes ask for {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The {0} {1} cannot be kept in parts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There are {0} characters in {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no drive {0} in this session.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no file {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no folder {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no gate limit {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no revision {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no role {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no session file {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no text in {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>This session has no table {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>This session has revisions 1 to {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>This would lean the mixture in {0} at high load, the first at {1} by {2} %, where nothing was measured.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Time stamps stand still</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>To use it all the same: --from {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Too few samples of {0} pass the gates, {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Two parts have the same name, or one has none.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Use less strength, or fewer cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Work on a copy in another folder.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write 3:7 for a curve, and R1:R2,C1:C2 for a grid.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write CHANNEL=RATIO, as in AFR=14.1.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write FIXED_S,VOLUME_G,LAG_S as in 0.1,1.0,0.08.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write NAME=VALUE, as in warm_c=80.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write ROLE=CHANNEL, as in airflow=MAF.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write all, latest, or numbers as in 1,3.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write it in one line.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write the numbers with a decimal point and without thousands separators.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a .blf capture</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a 7z archive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a DBC file that describes the messages of a CAN capture.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a PDF document</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a Parquet file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a RAR archive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a Zstandard archive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a bzip2 archive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a change of the kind {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a file with the copied text; - reads it from standard input.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a log of {0} channels</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a log or a table in any format.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a log, a capture of CAN frames</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a log, a measurement in MDF</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a picture (GIF)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a picture (JPEG)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a picture (PNG)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a saturated byte</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a spreadsheet (.xlsx)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>about every {0} s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>absolute load</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>actual torque</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>add a log even if the session has one with the same content.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>air-fuel ratio at lambda 1, for channels logged as air-fuel ratio.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>airflow changing fast</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>airflow ratio</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ambient air temperature</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an .asc capture</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an Arrow file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an HDF5 file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an OpenDocument spreadsheet (.ods)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an SQLite database</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an XML document</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an xz archive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>another such ratio for one channel, as in AFR=14.1.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>any revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>approved by {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>axis value of the breakpoint at which a part ends and the next begins.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>bank {0} sensor {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>barometric pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>belongs to the session {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>beyond the ends of the table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>binary content</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>brought in whole</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>by its name</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>by its name and its unit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>by its name and its values</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>by its name, its unit and its values</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>calculated load</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>cannot be changed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>cannot be opened</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> A longer window keeps more rows but pairs values from different moments.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> If it is a flag, say in its header what 1 means, as in &apos;Closed loop&apos;.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> If it is fuel over air, the inverse, give phi as its unit in the header.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> It is left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> Only updates count as readings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> add-log lists the roles of the channels.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> and is left out</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> {0}: no engine runs like that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>% of the widest opening above which throttle is full</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>% purge above which a sample is weighted 0.1, or rejected where its purge fuel cannot be estimated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>% short trim at which it is clipped</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>, and {0} came out closer to target than predicted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>, or choose the drive with --from to use it as it is.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>. It is left out; to use it as it is, choose it with --from.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>. It is used as it is because it was chosen.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>0 changes nothing, 1 makes a curve straight.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>0 keeps the current values, 1 takes the other revision&apos;s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>; during the drive, {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>; {0} / {1} = {2} kPa would be plausible, as if converted from psi twice</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A is below zero, which is impossible for a hot film: {0} does not rise in proportion to the film&apos;s voltage. The fit can still flag odd cells; its constants mean nothing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A log has a line of channel names and below it one line of values per sample.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A log has one line of values per sample.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A ramp needs two cells; only one is chosen.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A signature needs a name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A trim stood at its limit for {0} s: the true error is larger than the trim shows. Correct with the evidence so far, then drive again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add a breakpoint where the table needs more detail; the interpolated values stay the same.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add a table with: add-table SESSION {0}, or begin a session with it: new SESSION {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add another table of the same car to the session.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add it with: add-log SESSION {0}. A session begins with a table: new SESSION TABLE.csv</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add one or more logs and tie them to the revision that was in the car; all or none.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the log itself, or export it as CSV text.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the log itself.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add these lines:
{0}
{1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>After commands and fuel cuts the wideband answers at once: it is before the catalyst.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>After commands and fuel cuts the wideband stays at 1 as long as a store of oxygen lasts: it is after the catalyst and is used only in sustained rich running.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Airflow is not logged: exhaust transport is computed for a displacement of {0} l.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>All cells are chosen, so none is left to fill from.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>An ECU looks tables up along rising breakpoints: sort them and remove duplicates.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>An approval needs your name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve a revision under your name; only then can it be exported.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve it again: approve SESSION {0} --by NAME; or restore the storage settings; or write a draft with --draft.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>At full throttle measured and commanded mixture differ by a factor of {0}: the engine misfires there, or one of the two channels is wrong. Do not repeat it before the cause is known.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>At the {0} driven samples the interpolated value changes by {1} % to {2} %, by {3} % on average; {4} of them are beyond its ends.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>At {0} degC the cells correspond to {1} to {2} g/s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>At {0} the parts disagree: {1}{2}; {3} is used.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: never logged at the same moment, so they cannot be used together: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: these values are impossible in a car: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} It gives no evidence for {1}. {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} holds texts that are not recognised ({1}) and was left out; expected: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} occurs twice with different values; the first was used as {1}. If that is wrong, give --role {2}=&apos;{3}&apos;.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} often reads below lambda {1}; is it a voltage?{2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} reads only 0 and 1; by the codes of SAE J1979, 1 was read as open loop.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} reads under {1} kPa in {2} of its rows, which is impossible in an intake manifold</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} reads {1} V, which is impossible for a battery.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} reads {1} kPa{2}: impossible in an intake manifold{3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution: {0} was stated to be {1}, but most of its values, around {2}, are impossible for such a channel ({3} to {4}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cautions in the logs: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cells are given twice, by --cells and by --span.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change a log&apos;s revision, wideband position or channel roles.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change the value, or correct the storage settings.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Channel names occur more than once; later ones are renamed {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Channels of text or of several values were left out: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check the current table, then run the command again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose a block of the same shape, or only the cell for the first value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose a position between them; change-axis extends an axis.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose another folder.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose another name, or give --replace.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose another name; a key is never overwritten.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose undriven cells; the others have evidence of their own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose which to use there: --boundary lower, upper or mean.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Commanded lambda is not logged: assumed 1 in closed loop, unknown in open loop.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Convert it in a spreadsheet, or give --units-are-ours to use the numbers unconverted.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Convert them to the same units first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy only the cells you need.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy the chosen cells as tab-separated text for a spreadsheet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy the damaged file first, then go back to your last good copy.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct the cell in the file. If the values are another quantity, name it in their header.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct the header in a text editor: one name for each column, in order.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correction {0}: prediction met in {1} of the {2} cells driven since</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Count breakpoints from 0, both ends included: 3:7 in a curve, 0:3,2:5 in a grid; join blocks with +.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cut it into several logs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive there first, leave these cells out, or give --lean-is-meant.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive {0} differs from what was added: its digest does not match.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive {0}: wideband {1}, delay {2} s + {3} g / airflow, lag {4} s ({5}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Empty lines and comments among the values were skipped: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Everything driven is inside its target. Objections: {{objections}}. Look into them first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Everything in the session is as recorded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export it as CSV text and use that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Extend the latest correction from its proven cells to undriven cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Factors are above 0, as in 1.02; if percents are meant, give --meaning percents.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fewer than three cells in a row are chosen: smoothing needs at least three.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Find out who changed the session, and go back to your last good copy.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fit the sensor&apos;s physical law to the table and flag cells that look mistyped.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Flash the draft; {{care}}. Then add the log, stating that revision {{id}} was in the car.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Free disk space, or choose a folder that can be written to.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Full throttle was not driven. When part throttle is inside its target, make two or three pulls through the whole range, one at a time, and stop when the wideband reads leaner than commanded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give --axis row or --axis column.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give --cells A:B, --span LOW:HIGH, or --cells all.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give --outside hold to use its outermost values there, or --outside keep to keep this table&apos;s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give --supply in volts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give 0 or more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a value an ECU can hold.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give phi as the unit in the header of this channel, and of the measured one if it is the same, as in &apos;{0} (phi)&apos;; if the ECU really commands lean there, write lambda.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give rows per second, as in 10.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the cells, or leave {0} out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the divider&apos;s resistor in ohms, as in --pull-up 2490.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the new table another --name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the rows per second with --rate, as in --rate 10.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the table with this axis in {0}, or log the axis&apos; own quantity.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the value of one count, above 0.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give the value of one count, as in --step 0.01.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give them names that differ in more than punctuation.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give this car&apos;s DBC file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give your name with --by NAME.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give your name: --by NAME.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>If percents are meant, give --meaning percents; if factors are, give --meaning factors.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>In closed loop the wideband reads {0} on average while the ECU&apos;s own sensor holds 1: check the wideband&apos;s calibration and the exhaust for leaks before relying on it at full throttle.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Install it with: pip install cryptography</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Interpolate linearly between the outermost chosen cells, which keep their values.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Interpolate the chosen cells from the cells around them, within the range of those.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Interpolated, the largest difference is {0} {1}{2}, at {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Interpolated, the table is the same everywhere.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It has two columns, like a curve: leave --kind out, or give --kind curve.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It holds neither trims nor measured lambda, so it gives no evidence. Assign channels with --role.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It is byte for byte the file {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It is not a log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It looks like simulated or damaged data. Log the drive again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It was driven, and everything driven is inside its target.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It was not written completely, or its copy failed: copy it again, or log the drive again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It would count twice; to add it all the same, give --again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave out --none, or all other options.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Leave that --afr-of out, or name a channel that is logged as an air-fuel ratio.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Left out as not part of the drive, labelled a mean, maximum or total: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Likely reason: different weather; the air pressure was {0} kPa from the earlier drives.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Likely reason: different weather; the intake air was {0} K from the earlier drives.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Likely reason: the correction had thin evidence there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Likely reason: the drives since then disagree.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Likely reason: the new drive has too few samples there; drive those cells longer.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Line {0} ends inside its last number {1} and was dropped.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Line {0} of {1} names other channels than the header, or in another order: the file holds two logs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Lines were not in order of time; they were sorted.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>List the revisions: who made them, why, and which are approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log at least one channel.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log the barometer too (--role barometer=CHANNEL), or give the table with this axis as absolute pressure.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at it again, then sign that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at what was done last, then undo again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look into each, then accept it with: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make a correction from evidence first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make a private key for signing approvals, in a file that only you can read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make a session from the table that is in the ECU now.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make one with: make-key FILE</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make the chosen cells rise, with the smallest change that does it (least squares).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make the folder, or choose another one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Measured lambda is constant at {0}: the channel is dead and is left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Move the table to other breakpoints by interpolation, and show how far it then differs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Multiply cells by factors or percentages copied from a spreadsheet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Multiply the driven cells by their measured airflow ratio; undriven cells keep their value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name a file, - for standard input, or give --text.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name another channel for that role, or correct the unit in the file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name another file, or give --replace.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name at least one, or give all or latest.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name the axes in the header of the table&apos;s file, as in &apos;Airflow sensor (Hz)&apos;, &apos;Engine speed (rpm)&apos; or &apos;Manifold pressure (kPa)&apos;</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name the session file itself.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No cautions in the logs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No cell is proven: no correction can be carried on.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No coolant temperature is logged: the engine is assumed warm.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No drive was made with this table yet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No fuel system status is logged: overrun (throttle closed above 1300 rpm) counts as fuel cut, everything else that is warm and below full throttle as closed loop.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No further approval is needed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No likely reason found: drive again under the same conditions before correcting further.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No log shows which part of this table was driven.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No long-term trim is logged: what the ECU has learnt stays hidden and makes the table look better than it is. Log it, or reset the trims before driving.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No pull of a second or more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No revision precedes the latest correction.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No short-term trims are logged: closed loop would hide every error, so only certain open loop is used. Long-term trims applied there stay hidden too and make the table look better than it is: reset them first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No text to paste is given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No unit is given; assumed: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No units are given; assumed: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No usable drive is left.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No usable drive is left. </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>None of its columns is recognised as a channel.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing can be redone.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing can be undone.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was written and nothing is lost. Free disk space, then run the command again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was written. Check the permissions of the file and its folder.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was written. Close the other program, or wait a moment and run the command again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing was written; check the current state of the session, then run the command again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Objections to revision {0}:
</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Objections to revision {{id}}: {{objections}}. Look into them first. Then export it as a draft, flash that, {{care}}; then add the log. It is not approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Only a curve can be kept in parts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Only an exported file with its provenance file can show whether later changes were cut off: --against FILE.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open it in a spreadsheet, save it as .xlsx or CSV, and use that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open it with a newer version of the workbench; the file was not changed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part of what was driven is outside its target, but the drives disagree: find out why first, or choose the drives to use.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part of what was driven is outside its target, but the logs carry cautions: look at those first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Parts cannot be cleared and set at once.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Paste values copied from a spreadsheet into the table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Percent signs were ignored.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Public key, to hand out: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Put the breakpoints into the first row and column, and text or nothing into the corner.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rejected by gates: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Repeated header lines were skipped: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Replace the table by one of another calibration, with its breakpoints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Replace the values by those of another calibration, interpolated at this table&apos;s breakpoints.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Replay the whole history bit for bit, and compare an exported file with it if given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Report on revision {0} of {1} written to {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} carries no half-widths.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} differs from what was recorded: its digest does not match.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} has a digest other than the recorded one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} has other breakpoints and was interpolated at these.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} is not approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} was approved anew meanwhile.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0} was interpolated at the breakpoints of {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {0}: the approval by {1} {2}{3}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {{id}} is approved, but drives since then raise objections. {{why}}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revisions {0} and {1} are both of {2}; only one can have been in the car.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Round the chosen cells to values the ECU can store.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Run the whole job on sample data: from a wrong table and two drives to an approved, exported table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Run: check SESSION</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>SQLite reports the file as damaged: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Save it as .xlsx or CSV, without a password, and use that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Say why a caution may stand: it then no longer stands in the way, and stands in the approval with its reason.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Say why the caution may stand: --because TEXT.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Set it with: storage SESSION --step 0.01, or give it here: round SESSION --step 0.01.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Set the chosen cells to a value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show every pull: when, over which engine speeds, and how far the mixture was from the commanded one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show or set how the ECU stores values: value = count * step + offset.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show or set the parts in which the ECU keeps a curve; it is edited whole and also exported in parts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the measured airflow ratio of each cell, with its uncertainty.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show what in the logs could harm the engine or weakens the evidence.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show what is recognised in a log or a table, and what had to be assumed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sign an approved revision with your key; several people can sign the same approval.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Signing needs the library cryptography, which is not installed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Smooth the chosen cells; straight stretches keep their values.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Something else was done meanwhile.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Split it into shorter drives.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Split the file there, and add the two logs separately.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Start at an earlier cell, or copy less.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>State the fuel&apos;s ratio ({0}), or the ratio this channel is scaled with: --afr-of &apos;{1}={2}&apos;, or ={3} if the ECU really commands it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take back what was done last, to a table, a log, the settings or a caution; nothing is lost, redo does it again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The ECU storage settings have changed since approval: check what the ECU would store now.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The ECU storage settings have changed since revision {0} was approved, so the ECU would store other values than were approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The ECU&apos;s step is not set.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The airflow can only be computed for a grid over speed and pressure.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The approval of revision {0} is signed by {1} with the key {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} counts in {1}, and {2} of {3} in {4}: these cannot be converted.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The axis {0} is gauge pressure, and {1} has no barometer to subtract from {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cell at {0} would hold {1}, which is not a possible value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cell at {0} would overflow.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cells {0} are in reverse order.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The channel names are separated by {0}, the values by {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The channel names were joined from two lines.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The channels have {0} time bases; a value is held for at most {1} s and counts as missing after that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The charge law is for a grid; {0} is a curve.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The clock steps back {0}, by up to {1} s; the rows keep their order there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The coolant channel reads up to {0} °C, which no engine survives: check its unit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The coolant reached {0} °C: let the engine cool and find the cause.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The corner does not name the axes ({0}): they are named &apos;row axis&apos; and &apos;column axis&apos;.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The current revision was changed meanwhile.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The curve is transposed: breakpoints in the first row, values in the second.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The curve of revision {{id}} falls at {{where}}, beside undriven cells that the correction did not change: carry the correction on to them, or drive there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The curve of revision {{id}} falls at {{where}}: raise the falling cells by as little as needed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The curve {0} at {1}, against its direction. carry-on extends a correction to undriven ends, keep-rising raises falling cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The drives differ at {0} throttle overall, relative to all of them together: {1}. Weather, fuel or a sensor may have changed: choose the drives that apply now with --from.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The drives disagree at {0} throttle in {1} {2}, most at {3}: {4}. Find out what changed between them (fuel, weather, a sensor, fuel pressure, another table in the car) and choose the drives that apply now with --from, before correcting or approving.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The drives give no evidence for this table. {0} {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The error grows evenly with airflow, like that of low fuel pressure or small injectors: check them before correcting the table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The error is largest at low airflow and shrinks as airflow grows, like that of a leak behind the sensor: look for one before correcting the table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The file was written, but this could not be recorded in the session: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The first {0} of the session are not those that it held when {1} was exported: revisions, logs, settings, approvals or exports were altered since.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The flow does not rise with the signal like a hot film&apos;s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The header holds only a unit, {0}; named &apos;{1} ({2})&apos;.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The key {0} cannot be read: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The last {0} not part of the drive: {1}. {2} left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The law {0} is for a curve; {1} is a grid.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The limits are: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The line between the channel names and their values was skipped.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The log of drive {0} was taken out of this session.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The logger repeats values between readings: {0}. Pulls cannot be judged at that rate: log fewer channels, and treat full-throttle results with care.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The logger repeats values: {0} are updated {1}, while rows come every {2} s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The logs carry no caution {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The multipliers of a table with zeros cannot be smoothed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The numbers were read as {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The objections are: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The parts {0} would be written to the same file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The quantity of the axis {0} is unknown: only a channel of that name can feed it. {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The quantity of this axis is unknown. {0}, then make the session again; or name the axis like the log&apos;s channel. The log&apos;s channels: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The remaining error is inside its target everywhere.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The revision in the car is taken as stated for drive {0}: no logged airflow can confirm it for this table. If a correction was not flashed, it would be applied twice.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The roles are: </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The run time {0} is used as time, in seconds.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The samples of a channel in the session file are damaged.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The session has no drive.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The session holds {0}; when {1} was exported it held {2}: the latest changes are missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The short-term trim never moves although the ECU reports closed loop: the channel or the sensor is dead, so only certain open loop is used.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The short-term trim never moves: open loop is assumed throughout.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The signature of {0} with the key {1} on revision {2} {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The smoothed curve would fall to zero or below at {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The storage settings cannot be cleared and set at once.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The supply stayed under {0} V for {1} s with the engine running: injectors then open late, which looks like an airflow error.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table {0} holds {1} {2} at {3}: an airflow cannot be negative.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The time restarts at row {0}: {1} drives, joined with a pause of {2} s between them; the true pause is unknown.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The variable SOURCE_DATE_EPOCH is {0}, which is not a number of seconds since 1970.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The wideband reads {0} in the middle of closed loop, where the ECU holds 1: it is scaled for another fuel (add the log with --afr-of), or faulty.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The wideband shows only {0} % of the swings that the trims cause: it is after the catalyst and is used only in sustained rich running.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The wideband shows {0} % of the trims&apos; swings: it is before the catalyst.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There are no commas, semicolons or tabs: cells were split at spaces.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There are no objections: leave --accept out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no header: the axis is named &apos;axis&apos; and the values &apos;value&apos;, without units.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is no objection {0} to revision {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>There is nothing to redo any more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>They carry none.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>They carry: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>This cannot be taken back.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>This key has signed the approval of revision {0} already.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>This session already has a table {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Time was computed from the stated rate of {0} Hz; no time column was used.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Too few of the chosen cells carry weight for smoothing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Undo what was done to the table with undo --table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Units attached to the cells were removed: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Units were taken from the end of channel names: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Unknown parameters were left out: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Unpack it, and add the log inside.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Unpack it, then add the log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Use another key.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Values are rounded to the ECU&apos;s step, by at most {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>View it with: history {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write LOW:HIGH for a curve, and LOW:HIGH,LOW:HIGH for a grid; join several with +.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write LOW:HIGH in the axis&apos; own unit; join several with +.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write an approved table, or a draft, as CSV with a provenance file (JSON) beside it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write numbers separated by commas.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write the sample files and a session with several revisions.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write the table, its evidence, logs and history as one HTML file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a draft for a test drive, although {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a file with another part of the same curve, where the ECU keeps it in several parts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a gate limit, as in warm_c=80.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a group declares more data than the file holds</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a spreadsheet in the old format (.xls), or one with a password</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>about {0} s in all, as steady as traffic allows, on two occasions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>air-fuel ratio at lambda 1 that one channel is scaled with, as in AFR=14.1, if not the session&apos;s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>allow a lean step of more than 1 % in undriven cells at high load.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>an exported CSV file to compare with the session.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>approval of a calibration table
{0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>approved or not, the table cannot be exported until this is corrected.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>assign a channel to a role, as in airflow=MAF; airflow= clears it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>assign a channel to a role, as in airflow=MAF; otherwise roles are recognised and listed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>beyond the donor&apos;s ends: refuse, hold its outermost value, or keep this table&apos;s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>cannot be checked. {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>cannot be read or written: the disk is full or failing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>cannot be written: the disk is full</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>catalyst may hold oxygen</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>catalyst temperature bank 1 sensor 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>catalyst temperature bank 1 sensor 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>catalyst temperature bank 2 sensor 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>catalyst temperature bank 2 sensor 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>cells that may change.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>changes of the predicted mixture by {0} % (standard deviation)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>charge temperature, degC.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>check injector dead time against voltage before this table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>check injector dead time, exhaust leaks and the volumetric efficiency before this table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>check injector flow, fuel pressure and the manifold for leaks before this table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>check the intake temperature sensor&apos;s table and position before this table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>check the warm-up enrichment and the coolant sensor&apos;s table before this table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>clear the storage settings; values are then exported unrounded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>closed loop hides it: no trims logged</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>commanded EGR</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>commanded evaporative purge</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>commanded lambda</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>commanded lambda unknown</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>commanded throttle actuator</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>control module voltage</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>coolant temperature</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>counts may be negative.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>default</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>demanded torque</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>distance since codes cleared</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>distance with malfunction lamp</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>does not match what was approved</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive on part throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive there again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>held keeps the outermost chosen cells, free lets them move, auto holds those with a neighbour beyond.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>hot-film (King), thermistor (Steinhart and Hart), charge (ideal gas), or none; auto decides by the units.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>how the ECU keeps {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>how values between two steps are rounded; half-even (IEEE 754) if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>in closed loop the commanded lambda moves while the measured one is constant: the two look exchanged. Correct the roles with amend-log --role</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>include the breakpoints and axis names.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is given twice; leave one out</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is not a session file, or is damaged</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is not a session file, or its header is damaged</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is not signed: it shows the name that was typed, not who typed it, and whoever can write to the file can write another. Sign it with: sign SESSION --key FILE --by NAME</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is used because it was chosen, although it contradicts itself</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is {0} times {1}, so it is scaled with that</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>its measured lambda swings against its trims (correlation {0}): either their sign is inverted, where a positive trim must mean added fuel, or the mixture channel is fuel over air, the inverse of lambda. Look at a fuel cut to decide: lambda rises far above 1 there, fuel over air falls towards 0. Invert the trims in the log, or give phi as the unit in the header of the mixture channel, and add the log again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>its name, as cautions lists it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>its position, in the axis&apos; unit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>its reader crashed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>its reader crashed, as it does where one cell lies far from all others</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>keep thin cells as well.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>keep this table&apos;s value</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lambda above which a reading is out of range</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lambda below which a reading is out of range</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lambda commanded below which open loop also counts as full throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lambda_low of {0} is not below lambda_high of {1}, so no reading would be in range.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>largest error allowed at full throttle, as a ratio.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>largest error allowed at part throttle, as a ratio.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>leanest point as commanded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>leanest point {0} % {1} than commanded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>linear, as an ECU interpolates; or shape, monotone cubic pieces without overshoot.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>longest time a value is held, in seconds, where channels have time bases of their own.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>looks like a spreadsheet date and was read as days.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>most of its cells are not times</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>most {0} s and counts as missing after that.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>name of an objection that you have examined and accept.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>name of the table; the file&apos;s name if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>of the airflow per second: fastest change allowed for the wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>of the airflow per second: fastest change allowed for trims alone</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>of the airflow per second: the same for tables over manifold pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>of the fuel factor: largest change at which trims count as settled</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>of the fuel: largest share that the wall film may take up or release</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>only revisions of this table; all if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>only what was done to this table; whatever was done last if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>only what was done to this table; whatever was undone last if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>part of each step to apply, as in 0.5 for half.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>part of the step to apply.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>percent; negative lowers.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>read the file as a curve or a grid where its shape does not decide.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>reading {0} line by line</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>reads around {0}, like lambda and unlike an air-fuel ratio</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>reads {0} most of the time, as at lambda 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>replace an existing file that is not an earlier export; sessions and their logs are never replaced.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>replace an existing file; sessions and their logs are never replaced.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>resistor of the thermistor&apos;s divider, ohm, where the axis is in volts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>revision {0} ({1}) changed it by hand: make sure that it is intended</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>revision {0} of {1} ({2})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>rows per second, for a log without a time column.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>rpm above which the engine is running</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>s after a change until trims alone are used</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>s rejected after a change of loop state</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>s rejected after a fuel cut</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>s rejected after purge</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>show what would change without changing it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>signed by {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>smooth the multipliers applied since this revision instead of the values, which keeps the curve&apos;s shape.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the ECU&apos;s step is too coarse for it: check the storage settings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the amount, in the table&apos;s unit; negative subtracts.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the caution acknowledged: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the cell for the first factor, or a block of the same shape; a single factor multiplies all chosen cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the cell for the first value, or a block of the same shape; a single value fills all chosen cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the donor table, as CSV or as pasted from a spreadsheet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the file of your private key, as made by make-key.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the header is invalid</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the log added, </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the log rate is too low</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the measured mixture does not follow the predicted changes closely enough</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the new breakpoints, separated by commas or spaces.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the reason, in your words.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the revision that was in the car; for tables not named, the current revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the revision that was in the car; other tables keep what was stated.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the revision whose values to restore.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the session&apos;s settings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the settings of the log {0}{1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the table as CSV, as pasted from a spreadsheet, or as a spreadsheet file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>where to put the private key; nothing may be there yet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which drives to use: all, latest, or numbers joined by commas.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which part to use where two disagree at their shared breakpoint.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which revision; the current one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>write a revision that is not approved; the file name says so.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>your name; who is logged in if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} % would leave zero or less.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} Check the sensor, its wiring and its scaling.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} It seems scaled with about {1}: add the log with --afr-of &apos;{2}={3}&apos;.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} already exists.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} exists and is not an unchanged export of this workbench.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} exists but cannot be read ({1}), so it is not replaced.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} fits revision {1}, not {2}: its logged airflow differs from revision {3} by {4} %, from revision {5} by {6} %. Was the table flashed? Record it with `amend-log SESSION {7} --on {8}`{9}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} frames do not match their description in {1} and were left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no channel {1} to set an air-fuel ratio for.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no column usable as time</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no header: its columns are named column 1, column 2, …</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no markers for the list of commands.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no parts, so {1} cannot be selected.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no unit and was read in {1}, which does not fit {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has the name of {1}, but most of its values, around {2}, are impossible for such a channel ({3} to {4}): it is left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has {1} rows and {2} columns, which is not a curve.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has {1} rows and {2} columns, which is not a grid.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has {1} rows; a session keeps logs of at most {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds NUL bytes, so it is not a text file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds a key of another kind than Ed25519.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds another history than the one that was opened: its change {1} differs or is missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds no key without a password.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds two bytes; the first was used.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds {1}, but no diagnostic responses (7E8 to 7EF).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is back at revision {1} ({2}), from revision {3} ({4}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is damaged after {1} frames; what precedes was read.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is in long form, but no reading names its channel.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is in {1}, ours is in {2}, which is not a known unit of the same quantity.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is larger than {1} MB, too large for a table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is packed more than {1} times.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is revision {1} rounded differently from the approved one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is uncertain: {1} % of what was driven there lies in proven cells. Drive there again, twice at least.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is {1}, which is not a finite number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} jumps and returns faster than a car can, {1} times, as to {2} at {3} s; these readings count as missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} jumps from {1} to {2} within {3} s, and likewise in {4} of {5} changes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} lines hold no data frame and were skipped.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} reads {1} in every row: the channel is dead{2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} reads {1} throughout ({2}): it counts as missing and is left out.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} rises above 1 at high load ({1}) and hardly ever falls below it. Engines run rich at high load, so it must be fuel over air, the inverse of lambda.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was converted from {1} to {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was exported from a revision {1} that this session does not hold in that form.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was extracted from {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was not checked: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was not driven with {1}, so nothing confirms it; {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was not finalised by its logger; counts and lengths were reconstructed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}, {1}: the breakpoint {2} is not above the previous one, {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}, {1}: the corner is the number {2}, so it is unclear whether the first row and column are breakpoints or values.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: a private key; keep it to yourself.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: a trim stood at its limit in {1}: the true error there is larger.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: airflow {1} % against the current table ({2}){3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: bank 2 takes {1} % more fuel than bank 1; their mean is used. The airflow table cannot cause a difference between banks.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: give either multipliers or values, not both</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: it is gauge pressure without the vacuum part, or its unit is wrong.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: no law is fitted; cells are compared with their neighbours.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: no step is set; values are exported unrounded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: purge is not logged, but {1} times the mixture steps richer by {2} %, as canister purge does: those {3} are weighted 0.1 and corrected for purge fuel. Drive with purge off to be sure.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: purge is not logged; if it was active, cruise cells look richer than they are.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: the channel {1} {2}, so it cannot be scaled with {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: the header has {1} cells and the lines of values have {2}: {3}, and it is unclear which one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: the lines of values have twice as many cells as the header: numbers with a decimal comma were split at commas, and cannot be rejoined with certainty.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: {1} logged during purge are weighted 0.1 and corrected for purge fuel.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: {1} may hold a decimal sign or a thousands separator; it was read as {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: {1} stands out; its neighbours suggest about {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}; largest miss at {1}: {2} % remain.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>°C coolant temperature above which the engine is warm</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive with a passenger at the laptop, part throttle first, then pulls one at a time, and stop when the wideband reads leaner than commanded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> Acknowledged by {0}: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Acknowledged by {0}: {1} {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>An acknowledgement needs a reason.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bring it back with redo.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Do again what was last undone.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Done again: {0}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>engine displacement, litres; also shows the airflow of each cell of an efficiency table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>engine not running</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>engine speed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>estimated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ethanol share of the fuel</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>every {0} to {1} s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>exported{0} on {1} as {2}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>from {0} % to {1} %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel cut</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel cut and after</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel film filling or emptying fast</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel rail absolute pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel rail pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel rail pressure relative</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel system 2 status</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fuel system status</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>full throttle within ±{0} %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>has no mixture role</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>has no unit; it was read as seconds.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>highest value allowed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>hold the donor&apos;s outermost value</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>in a grid, along each row, along each column, or between the four corners.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>in a grid, along each row, or along each column.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>in a grid, the row or the column axis.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>in pulls at full throttle, each through the whole range</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>injection timing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>intake air temperature</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>intake manifold pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is a session</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>is being written to by another program</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>it falls from row to row, the newest first</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>it keeps falling</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>it reads {0} in every row</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>kept with its first revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>kept with the first revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>kept with the new revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>kept with the revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lambda sensor current {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lambda sensor voltage {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>largest step allowed, as a ratio.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>line {0}, column {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>long term fuel trim bank 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>long term fuel trim bank 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>loop state changed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lowest value allowed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>make pulls with a wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>make them rise, or fall.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>mass air flow</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>mass air flow sensor A</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>mass air flow sensor B</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>measured lambda {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>name of a part, in rising order; one more than boundaries.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>no evidence yet</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>not approved: a draft for a test drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>not measurable in this log: {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>not supported</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>number of the log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>oil temperature</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>on thin evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>one block of cells; all if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>open loop without a wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>oxygen sensor trim {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>oxygen sensor voltage {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>oxygen storage hides it: the default is used</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>part throttle within ±{0} %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>pedal position D</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>pedal position E</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>pedal position F</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>print one JSON object instead of text</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>purge</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>purge fuel reached the engine: drive with purge off, or exclude those stretches</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>purge not logged, beginning or ending</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>python -m workbench</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>raw FF, &apos;not used&apos;</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>reference torque</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>relative pedal position</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>relative throttle position</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>revision {0} in the car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>round to this step instead.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>row axis (unit){0}column axis (unit){1}value (unit)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>run ti[mn]e|laufzeit|runtime|since start</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>run time since engine start</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>says it is scaled with {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>short term fuel trim bank 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>short term fuel trim bank 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>something drifted during the drive (heat soak, fuel temperature, a sensor): drive again and compare</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>sound or film</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>standard input</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>state the wideband&apos;s delay instead of estimating it: FIXED_S,VOLUME_G,LAG_S.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>stated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>steps of {0} {1} from {2} to {3} ({4})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the barometer was</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the cell is empty</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the cell is empty. Fill every cell with a number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the cells to fill.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the clipboard</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the codes of SAE J1979, OL and CL, open loop and closed loop, or, if its name says closed loop or open loop, ON and OFF</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the copied text itself, instead of a file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the curve is kept whole.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the decimal sign of the spreadsheet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the earlier revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the factor, above 0.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the file is read-only</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the file to write.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the folder {0} is read-only</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the largest rounding error is {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the later revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the log cannot tell where the wideband sits: the default is used</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the logs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the longest hole is {0} s, after row {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the new value, in the table&apos;s unit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the number of values differs</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the other revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the session file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the session file to make; it must not exist yet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the sheet of a workbook, or the file in a zip with several.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the table that was driven; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the table that was exported; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the table to compare them with; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the table to correct; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the table to look at; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the table whose current revision is meant; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the time steps back there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the value at count 0.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the {0} {1} of {2} over {3}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>throttle position</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>throttle position B</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>throttle position C</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>timing advance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>too few readings are in range</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>trim at its limit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>trims still moving</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>twelve hours</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>two commands are called {0}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>use its numbers unconverted, whatever units it names.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>use trims and wideband, or only one of them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>vehicle speed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>warm up</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>was not chosen and keeps its</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>was only passed through: it follows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>was read as milliseconds.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>was read as minutes.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>weight cells by the uncertainty of the latest correction.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>weight cells by the uncertainty of the latest correction; undriven cells follow the others.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>were not chosen and keep their</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>were only passed through: they follow</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>what one count is worth, in the table&apos;s unit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>where the car&apos;s wideband sits, before or after the catalyst; auto recognises it from all drives.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which cells may change; all if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which cells; all if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which table it goes into; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which table it replaces; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>which table; the first one if not given.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>wideband out of range</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>wideband position, before or after the catalyst; auto recognises it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>wideband {0} the catalyst</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>wideband: its place is recognised</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>width of the count.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>with a decimal comma</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>with a decimal comma and separated thousands</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>with commas between thousands</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>without evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>your name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}    ratio    ±95 %  samples visits     mean   median  standing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}  {1} -&gt; {2}  count {3}  error {4}{5}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} (by the end of its name)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} (stands still)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} and {1} more</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} and {1} were replayed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} begins as {1} text but byte {2} does not fit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be changed: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be converted to {1} after reading.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be read as a log or as a table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be read as a log: it has no lines of numbers separated by tabs, semicolons, commas or bars.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be read as {1}: {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be read: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be split into cells: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be the time: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be unpacked: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} cannot be used for calibration: {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} counts from the ambient; {1} added.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} describes no CAN messages.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} dropped, not padded, having {1} cells than the header: {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} every {1} s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} exists already.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} frames of {1} identifiers</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} g of air to 1 g of fuel at lambda 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has a header but no rows of numbers.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has a time but no channels of numbers.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no channel for the axis {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no sheet with cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no sheet {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no unit and stays within 0 and 1; it was read as a fraction, where 1 is 100 %.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has no unit; it was read as lambda (1 = stoichiometric).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has other breakpoints: number {1} of {2} is {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has the same content as log {1} ({2}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has {1} cells instead of {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has {1} rows and {2} columns of values, the axes ask for {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} has {1} sheets with cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds dates ({1}); it was read as seconds since 1970</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds no CAN frames, so a DBC file does not apply.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds no cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds no channels.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds no complete row of values.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds no line of values, or only one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds nothing but blank lines and comments.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds raw bytes around 128; 128 was read as a trim of 0 %, one step as 0.78 %.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds revision {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds {1} files.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} holds {1}; {2} describes none of them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} in {1}, {2} in {3}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} instead of {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a directory, not a file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a directory, not a session file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a directory.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a factor around 1; it was read as percent: 100 * (factor - 1).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a flag; it was read as closed (2) or open loop (1).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a flag; read as 0 or 100 %.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a fuel-air equivalence ratio: lambda is its inverse.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a session of version {1}; this program supports versions up to {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a session, not a log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a session, not a table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a time of day; it was read as seconds since midnight.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is a {1} of {2} cells: {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is above {1} rpm in {2} of its rows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is cut short after {1} bytes.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is cut short: {1} bytes of {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is damaged ({1}).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is empty, so it selects no cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is given in %: 100 % was read as lambda 1.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is in long form, but no reading has a time.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is in {1}, ours is in {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is larger than {1} MB once unpacked.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is left out: {1}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not UTF-8 text; it was read as {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not UTF-8; it was read as Windows-1252 text.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a finite number. Fill every cell with a finite number.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is not a regular file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is revision {1}, which nobody approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} is revision {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} lies around 100; 100 was read as a trim of 0 %.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} lines are</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} of {1} cells changed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} of {1} cells differ between revision {2} and {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} of {1} {2} at {3} is not possible: the ECU would meter no fuel there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} over {1} s, {2} a second</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} problems were</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} reached the limit, the first at {1}: find out why.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} readings without a time were dropped.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} reads {1} or more</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} rows were</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} signals were decoded by {1}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} the catalyst</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} thin, {1} without evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} value, as asked.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was read as seconds.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was read as {1} since 1970.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} was unpacked from gzip.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} without a time stamp dropped.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0} without evidence {1} value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}, {1} to {2} s, {3} to {4} rpm</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: it cannot be told. Only what holds on both sides of the catalyst is used; to use more, say where it sits with settings --wideband, or for one drive with amend-log --wideband.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: no number in {1}, such as {2}; that counts as missing.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: no sample passed the gates.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: not driven.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: numbers such as {1} can be read with a decimal comma or with a comma between thousands, and both give a table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: revision {1} of {2}, {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: the channel {1} is in {2}, so it cannot be {3}, which is in {4}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: values on other breakpoints are set outright</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: wall wetting compensated: film {1} % of the fuel, time constant {2} s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: {1} different ones in {2} rows; rows were spread evenly between stamps, about {3} s apart.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: {1} is not recognised in {2}; that counts as missing. Expected: {3}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}: {1} is revision 1.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}; breakpoints from 0, as in 3:7 or 0:2,4:8+5,5</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}{1} is an air-fuel ratio: lambda = AFR / {2}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{0}{1} on {2} by {3}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>| command | what it does |</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>window</name>
    <message>
        <source>+  -  0</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 caution</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 cell</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 cell is undriven and keeps its value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 cell, {low}; {cut} cut to the limit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 cell, {span}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 note</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 revision, branch of {parent}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 row.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 sample at {low}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 sample used</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 value is on the clipboard.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>12.5 sets, +3 % changes, *0.97 scales.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Accepted objections</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Acknowledge</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Acknowledge a caution</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add a table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add logs</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the drive with revision {id}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the log of a drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add the next drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add this log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add to cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Against</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Air-fuel ratio at lambda 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Air-fuel ratio of a channel</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Airflow ratio</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>All shortcuts on one page.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Along</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Alt and arrows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Alt and drag</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Apply</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Apply the correction</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Apply the draft</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Applying this gathers the evidence anew; the table stays as it is. Undo takes it back.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Applying this gathers the evidence of {n} drives anew; the table stays as it is. Undo takes it back.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve a revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve and export</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve revision {id}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>At</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>At the cursor</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Axis</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Axis changed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Backspace</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Because</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Begin a session from a table copied in a spreadsheet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Begin from a table copied in a spreadsheet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bench</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Beyond the ends</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Bits</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Blend with another revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Breakpoint inserted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Browse…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>By</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>By evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Calibration workbench</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cancel</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Carried on</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Carry the correction on</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Caution</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change an axis</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change the chosen cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Channels</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Channels and their roles</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Channels in one lane share a scale.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check the session</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose lanes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose which channels are drawn.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Close</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Close the session and show the start page.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Colour scale</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Commands found</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Compare</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Compare two revisions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy cells first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct from 1 drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct from the evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct from {n} drives</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Corrected</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Current cell</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Curve</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>DBC file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Decimal</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Delay</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Direction</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Displacement</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Distribution of the samples</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Do the next step</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Down to 9 pt.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Draft</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drawing the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driven on</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driven on revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driven on revision {revisions}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driven on, {table}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drives</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drop the draft</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Earlier revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Edges</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Enter</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Esc</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export a draft of revision {id}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export revision {id}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fastest change for trims alone, 1/s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fastest change of airflow, 1/s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>File</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Files</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fill cells from their neighbours</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Filled</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fixed delay, s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Flash revision {id}, drive, and add the new log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Folder</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>From a drive log and a table to a table you can defend</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fuel</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Fuel film up to, part of the fuel</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Full throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Full throttle from, %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Gas volume, g</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Gates</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Gates…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Gathering the evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Gathering the evidence…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Go to the history</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Go to the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Go to the numbers</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Go to the picture</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Go to the worst cell</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Grid picture</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Half the 95 % interval.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Heat picture of the grid</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Help</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>High</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>History</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>History of the table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>I accept this, because</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>In the car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Insert a breakpoint</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Inspect a file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It does not fit: {drive}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It is approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keep rising</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keep the curve rising</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Key</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Keys</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Kind</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Lag of the sensor, s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Lane {n}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Lane {n}, channel {m}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Lanes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Lanes of the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Larger text</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Later revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Law</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Layer</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Limit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Limits of gates</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log the sensor signal (or engine speed and manifold pressure), short and long trims, both lambdas.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Looking for cautions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Low</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make a revision of it (Enter).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make a signing key</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make the key</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make the samples again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Mean, median</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Meaning</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Message</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>More files</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Multiplied</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Multiply by pasted factors</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>New from a table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>New session</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>New session from the clipboard</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Next</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Next step</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Next theme</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No cell would change.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No drive was made with revision {id} yet: export it as a draft, flash that, {care}; then add the log. It is not approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No wideband in use.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Note</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Notes on the evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Numbers</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Numbers of the table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open a copy of the sample session.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open the sample</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Page up, Page down</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Record</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Record what is said otherwise about the log.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Scaled by {by} %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Scaled × {by}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Set to {to}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sign</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sign an approval</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The ECU&apos;s airflow curve or volumetric-efficiency grid: a CSV, or copied from a spreadsheet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The same for tables over manifold pressure, 1/s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Which folder</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wideband position: {place}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Worst cell, expected</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Worst {error} at {where}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>cannot be told: say it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive {id}: after the catalyst, late by {delay}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive {id}: before the catalyst, late by {delay}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive {id}: late by {delay}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive {id}: the place of the wideband cannot be told, late by {delay}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive {id}: {name}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drop the stretch</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>exported</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>exported as a draft</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>falling curve</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>fold and unfold a branch</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>full throttle not driven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>full throttle outside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>full throttle unproven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>gated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lean step at high load</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>move along</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>move the cursor, with Ctrl faster</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>no</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>no drive yet</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>no evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>not driven since</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>open cautions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>part throttle not driven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>part throttle outside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>part throttle unproven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>place not known</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>reason, saved with the approval</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>recognised: after the catalyst</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>recognised: before the catalyst</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>samples, off the table by</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>storage range</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>thin changed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>try another delay</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>type +3 % or 12.5</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>unchanged</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>undone; Ctrl+Shift+Z restores it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>undriven changed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>yes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{channel} becomes {role}, in place of {before}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{channel} becomes {role}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{channel} is no longer {role}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{name} is empty.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{name} is new in the watched folder.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} set to a value</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{one} and {other} cannot both be {role}: choose one of them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{regime} within ±{limit}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{share} of driven time</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{value}, uncertain</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{where}, delay stated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>“{text}” is not a valid entry.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>●&#xa0;proven, ◐&#xa0;thin, ○&#xa0;undriven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Offset</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source> · {kept} accepted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>, </source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change a log&apos;s settings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change since revision {id}, in percent.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Check against the sensor&apos;s law</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Everything driven is inside its target. Objections: {objections}. Look into them first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export a table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Flash the draft; {care}. Then add the log, stating that revision {id} was in the car.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>It was driven, and everything driven is inside its target.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No drive was made with this table yet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Objections to revision {id}: {objections}. Look into them first. Then export it as a draft, flash that, {care}; then add the log. It is not approved.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open a session</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open a session file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open a session…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Over</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part of what was driven is outside its target, but the drives disagree: find out why first, or choose the drives to use.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part of what was driven is outside its target, but the logs carry cautions: look at those first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part of what was driven is outside its target.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Parts of a curve</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Paste a table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Paste values</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Pasted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Picture</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Picture of the curve</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Progress</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Proven, thin or undriven.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Pull up</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Purge up to, %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Quit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ramp between the ends</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ramped</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Reason for accepting {name}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Recent sessions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Record the draft as a revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Redo</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Resample a donor table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {id} is approved, but drives since then raise objections. {why}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {id} of {table}: {what}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Revision {id}: {what}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rich command under, lambda</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Role of {channel}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Roles</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Roll back to a revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Round to the ECU&apos;s step</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rounded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rounding</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Running from, rpm</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Running work</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Samples, visits</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Scale cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Scale cells by percent</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Search all commands</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Session</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Set cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Settling for trims alone, s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Share</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Share, as a slider</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sheet or part</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shift and arrows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shift and drag</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show airflow ratios</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show changes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show samples</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show standing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the cautions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the history</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the pulls</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show values</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Signed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Since revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Slice along the column axis</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Slice along the row axis</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Smaller text</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Smooth cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Smoothed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Source</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Standing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Start</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Start page</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>State the delay</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Step</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Storage in the ECU</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Strength</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Supply</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take over a donor table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Take the tour</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Targets, fuel and gates</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Task</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Temperature</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Text</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The ECU storage settings have changed since approval: check what the ECU would store now.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The clipboard holds no text.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The curve of revision {id} falls at {where}, beside undriven cells that the correction did not change: carry the correction on to them, or drive there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The curve of revision {id} falls at {where}: raise the falling cells by as little as needed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The dashed line is a draft: Enter applies it, Esc drops it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The job</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The one farthest from its target.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The revision that was in the car.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Thin cells too</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>To</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Trim is clipped at, %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Trims stand still within, ratio</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Try the sample</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Type a change of the chosen cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Type to change the chosen cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Undo</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Up to 24 pt.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>View</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Warm from, °C</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Watch a folder</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Watch a folder for logs…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Watching {folder} for new logs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Way</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What the ECU looks up.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>What to drive next:</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Where to</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Where you are</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Which file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Which files</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>With axes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Without thin</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Words of the command</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Working out the draft…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>1 cell, {low}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Add another drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Added {by}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>An approval needs your name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve revision {id} again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Before revision {id} is approved: {why}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Correct again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Drive ten to fifteen minutes with a warm engine, at many speeds and loads, with a passenger at the laptop.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>I accept “{name}”, because</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at the cautions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Look at the evidence again</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Make them</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Roll back</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Save a copy of the session</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Stop a pull when the wideband reads leaner than commanded.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table reads high here: lower it by {size}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table reads low here: raise it by {size}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table reads {size} high here, far inside its target: leave it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table reads {size} low here, far inside its target: leave it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>With a wideband, add two or three pulls at full throttle on a closed course, one at a time.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Worst against its target</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write a report</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write it with digits, as in 12 or 0.97.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Your name</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>[  ]</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>a whole number</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>after</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>after the catalyst</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>airflow</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>airflow ratio</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>airflow ratio, 95 % interval</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>all cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>all driven cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>all inside</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>apply</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>approved by {name}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>arrows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>arrows left, right</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>arrows up, down</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>at {time} s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>auto</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>barometer</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>battery voltage</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>before</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>before the catalyst</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>begin a change</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>begin and end a stretch</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>both</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>change</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>change since revision {id}, %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>change, %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>changed by {percent}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>charge</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>choose a stretch</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>choose several cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>chosen cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>closed loop</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>column</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>columns</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>comma</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>commanded lambda</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>compared with</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>coolant temperature</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>corners</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>12.5 sets, +3 % changes by a percentage, *0.97 scales, +0.4 adds.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>12.5 sets, +3 % changes by a percentage, *0.97 scales, +0.4 adds; a note may follow a semicolon.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A copy of a finished session of the virtual car; invented data.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A risk to the engine or to the evidence: point at it to read more.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A sample is accepted only if it passes all gates; changing a limit re-evaluates the logs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A session is one file that holds one car&apos;s job.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>A wrong table can destroy an engine. A lean step at high load needs your explicit acceptance.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Accepted samples at full throttle.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Accepted samples for these cells, and separate visits.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Accepted samples nearest to the chosen cells.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Accepted samples per cell, shared between cells as the ECU interpolates.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Against the compared revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>All notes on the evidence, and what to drive next.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>All revisions that changed it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Allow a lean step</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>An approved table goes into an engine. You approve it under your name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Any logger&apos;s file with trims, a wideband or both. Its channels are recognised and listed.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Approve this revision under your name.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Arrow keys move the cursor, plus and minus zoom, 0 shows all, [ and ] select a stretch, Esc clears it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Assumptions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Blended with {with}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Browse your files.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>By any of their words.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Cancel the running work without saving any of it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Change of each cell from the compared revision, in percent.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Channels, roles and assumptions.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose the role of this channel.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose the table&apos;s file, or drop it here.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Clear the settings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Click, Enter or Left folds it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Close this and show the history (Esc).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Compare with the chosen revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Compare with the law</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Continue</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy all values</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy report</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Copy the table from a spreadsheet first.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Current revision.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Difference between the stored and the table value, where the ECU&apos;s step is set.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Discard it and keep the table (Esc).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Dismiss this message.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Division by 0 is not possible.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Do what the top strip proposes.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Donor resampled</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Donor table taken over</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Draft shown: Enter applies, Esc drops.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Each cell&apos;s error with its uncertainty. Undriven cells keep their value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Effect</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Enter compares with a revision; Backspace rolls back to it; Left and Right fold a branch.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Evaluating the logs.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Evaluating the logs…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Everything is saved already.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Evidence for {where}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Evidence from</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Folded: click, Enter or Right shows it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Give a reason for accepting “{name}”.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Half the ratio&apos;s 95 % interval, its uncertainty.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Heat picture: one rectangle per cell, coloured by the layer that is chosen; dots are accepted samples. Slices: the row and the column of the current cell, with the evidence as a band, its 95 % interval (±).</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>History of this cell</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>History of {cell}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Import the table</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Imported</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Its reading is delayed by {delay}: a fixed part plus gas volume over airflow.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Left out: {drive}. To use it all the same, choose the drives yourself.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Light, dark or direct sun.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Limits of the gates, and the samples each rejected.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log coolant temperature, throttle, loop state and purge too, if the ECU offers them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Log details</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Longest hold time</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Made to rise</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Measured airflow over the table&apos;s: above 1, raise the cell.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Measured airflow over the table&apos;s; ± is half the 95 % interval.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Measured over table airflow.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Measured over table airflow. Above 1 the table reads low and runs lean without trims.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Move the keyboard focus there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No accepted sample in this regime.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No evidence yet.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No evidence yet: add the log of a drive.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No log yet. Drop a drive&apos;s log here, or press Ctrl+L.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No objections.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>No session is open.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>None yet. Opened sessions are listed here.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>None: the command is refused.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Objections</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Objections are listed first; then the table is ready to flash.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Of the samples nearest to the cell only; easy to check by hand.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Offer each new log written to the folder.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open it again and repeat the command.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open one, or start one from a table.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open or start a session</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Or drop a table, session or log anywhere in this window. F1 lists all keys.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Other notes:</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Part used at a boundary</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Program error</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rejected after a fuel cut, s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rejected after a loop change, s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rejected after purge, s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rejected by gates</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rejected: {worst}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Replace an existing file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Report saved: {path}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rolled back to {to}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rows per second</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Samples per cell.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Samples rejected</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Samples rejected by a gate: point at one to see which.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Saving the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Set the gate limits.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the 95 % interval</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the changes since it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the channels, roles and assumptions of this log, and change roles.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the compared revision, and back.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Show the log</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>State it instead of estimating it from the log: fixed s, gas volume g, lag s.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Strength of the evidence: ● proven, ◐ thin, ○ undriven.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The ECU controlled the mixture by its own sensor, by the logged loop state.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The band is the evidence with its 95 % interval (±); rings are undriven cells. Drag a chosen point, or nudge it with the arrow keys.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The cell farthest outside its target. Ctrl+G goes there.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The drive whose log is shown.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The drives chosen in the open task. Closing it shows all usable drives again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The drives disagree here; the notes say which and by how much.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The evidence comes from the trims.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The largest step of a cell; larger steps are cut to it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The objection “{name}” is not accepted.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The part of the step to apply. With a wideband a full step is right.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The program failed. Every revision is safe in the session file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The revision of the latest of {n} drives. A round: correct, flash, drive.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The revision of the only drive. A round: correct, flash, drive.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The session was closed before this finished: {title}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table is right here within the uncertainty ({known}): leave it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table reads {size} high here, less than one storage step: leave it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table reads {size} low here, less than one storage step: leave it.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table that is in the ECU now</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The table to work on.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Thin cells have wide intervals.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Toggle before / after</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Too uncertain to tell whether the table is off here ({known}): drive here again.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Type 12.5 to set, +3 % or -3 % to change, *0.97 to scale, +0.4 or -0.4 to add.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Type a divisor such as /1.03.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Undriven: the cell keeps its value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Use its numbers unconverted</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wideband position</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wideband range from, lambda</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Wideband range to, lambda</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Without axes, for pasting elsewhere.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>airflow ratio: no evidence yet</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>all usable drives</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>chosen drives</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>compare with a revision</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>current</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>curve</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>default</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>delay {change} s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>digits, + - * /</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>draft</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>draft a value</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>draft: Enter applies, Esc drops</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drag a point</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive with a passenger at the laptop, part throttle first, then pulls one at a time, and stop when the wideband reads leaner than commanded</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive {ids} only</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drive {id}: no wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drives {ids} only</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>drop</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>engine speed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>estimated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>evidence</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>factors</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>falling</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>free</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>from {low} to {high}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>full throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>gated: {gate}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>grid</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>half-away</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>half-even</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>half-up</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>held</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>hold</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>hot-film</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>intake temperature</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>keep</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>kept</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>large step</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>last driven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>linear</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>load</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>long trim, bank 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>long trim, bank 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>loop state</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lower</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>lowered by {value}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>manifold pressure</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>mean</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>measured lambda</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>multiplied by {factor} ({percent})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>no reading</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>no role</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>none</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>not driven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>nothing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>now</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>nudge by half a percent</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>only the chosen cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>pedal</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>percents</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>point</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>prediction not met</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>proven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>proven ●, thin ◐ or undriven ○.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>purge</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>raised by {value}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ratio</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>showing revision {id}; F4 returns</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>recognise it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>refuse</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>revision {id}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>revision {id}, round {n}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>rising</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>roll back to it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>row</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>rows</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>samples</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>scaled to {percent} %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>sensor signal</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>separate several with ;</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>set to {value}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>shape</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>share {share}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>shifted by the delay</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>short trim, bank 1</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>short trim, bank 2</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>side branch</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>standing</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>stated</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>storage error, %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the current one</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the latest drive</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>the {n} chosen cells ({cells})</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>thermistor</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>thin</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>throttle</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>time, s</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>toward-zero</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>trims</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>trims and wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>trims only</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>undriven</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>unknown</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>upper</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>value</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>vehicle speed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>walk</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>why, in your words</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>wideband</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>wideband only</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>zoom in, out, show all</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{author}, {time}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{axis}, at {where}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{cells} {meaning}. Enter applies, Esc drops.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{error} at {where}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{grams} g / airflow</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{id}  {name}, on revision {revision}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{id}  {what}: other breakpoints</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{id}, approved</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{line} Enter applies, Esc drops.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{low} to {high}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{name} and {n} more</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{name}: {text} is not {kind}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} cautions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} cells are undriven and keep their value.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} cells from {first} to {last}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} cells, {low} to {high}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} cells, {low} to {high}; {cut} cut to the limit.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} cells, {span}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} in 1 visit</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} in {visits} visits</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} notes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} revisions, branch of {parent}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} samples from {low} to {high}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} samples used</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{n} values are on the clipboard.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{rows} rows at {rate} Hz, {length}.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{rows} rows, {length}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{size} cells</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>{value}, expected</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>± half the 95 % interval, n samples, {standings}</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>± of the ratio, %</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>±: half of the ratio&apos;s 95 % interval, in percent.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>→ {column}, ↑ {row}</source>
        <translation type="unfinished"></translation>
    </message>
</context>
</TS>
