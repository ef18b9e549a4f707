"""Opening the workbooks: a learner's own copy, JupyterLab around it, panels live when the page appears."""
