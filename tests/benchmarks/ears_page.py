def write_page(folder, result): pass
