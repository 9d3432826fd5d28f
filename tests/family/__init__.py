"""A family of virtual cars whose physics is drawn by lot, to judge the workbench from outside.

It shares no model with the workbench or with its demo: everything comes from physics and from the trade (ranges without
another source: common practice, no source). Nothing here imports the workbench but the judge, through its commands.
"""
